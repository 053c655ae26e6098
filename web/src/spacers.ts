// The spacers' height under the thumb: the taper it leaves, from the jaws condensed on the server.

import { isRefused, Latest, question, type Refused } from "./latest";

interface Left {
  height_mm: number;
  height: string;
  torque: string;
  force: string;
  taper_mm: number;
  taper: string;
  way: string;
  shift: string;
  limit: string;
  within: boolean;
  word: string;
}

interface Heights {
  low_mm: number;
  low: string;
  high: string;
  high_mm: number;
  limit_mm: number;
  limit: string;
  now: Left;
  curve_mm: [number, number][];
  owned: { words: string; height_mm: number; height: string; taper: string }[];
}

const SVG = "http://www.w3.org/2000/svg";
const [WIDE, HIGH, LEFT, FOOT] = [360, 150, 8, 26];

export function watchSpacers(): void {
  const box = document.querySelector<HTMLElement>("[data-taper]");
  if (box && !box.dataset["on"]) {
    box.dataset["on"] = "yes";
    void new Spacers(box).load();
  }
}

class Spacers {
  private heights: Heights | undefined;
  private readonly slider: HTMLInputElement;
  private readonly answer: HTMLElement;
  private readonly picture: HTMLElement;
  private readonly latest: Latest<Left | Refused>;
  private marker: SVGElement | undefined;

  constructor(private readonly box: HTMLElement) {
    const found = <T extends Element>(selector: string): T => {
      const at = box.querySelector<T>(selector);
      if (!at) throw new Error(`${selector} is missing`);
      return at;
    };
    this.slider = found("input[type=range]");
    this.answer = found("output");
    this.picture = found("[data-graph]");
    this.latest = new Latest((answer) => this.show(answer));
  }

  async load(): Promise<void> {
    const got = await question<Heights>(`${this.address}/heights.json`);
    if (!got || isRefused(got)) {
      this.answer.textContent = got?.problem.what ?? "This cannot be answered just now.";
      return;
    }
    this.heights = got;
    this.slider.min = String(got.low_mm);
    this.slider.max = String(got.high_mm);
    this.slider.value = String(got.now.height_mm);
    this.slider.disabled = got.high_mm <= got.low_mm;
    this.draw(got);
    this.list(got);
    this.show(got.now);
    this.mark(got.now.height_mm);
    this.slider.addEventListener("input", () => this.ask());
    this.slider.addEventListener("change", () => this.tell());
    document.addEventListener("as-planned", () => this.asPlanned());
    const torque = this.field("torque");
    torque?.addEventListener("input", () => this.ask());
  }

  private get address(): string {
    return this.box.dataset["taper"] ?? "";
  }

  private field(name: string): HTMLInputElement | null {
    return this.box.closest("form")?.querySelector<HTMLInputElement>(`input[name="hold.${name}"]`) ?? null;
  }

  private ask(): void {
    const fields = new URLSearchParams({ "hold.spacer_height": `${this.slider.value} mm` });
    const torque = this.field("torque")?.value.trim() ?? "";
    if (torque) fields.set("hold.torque", torque);
    this.mark(Number(this.slider.value));
    this.latest.ask(() => question<Left>(`${this.address}/spacers`, fields));
  }

  /** The rest of the sheet follows when the slider is let go. */
  private tell(): void {
    const field = this.field("spacer_height");
    if (!field || !this.heights) return;
    field.value = `${this.slider.value} mm`;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  private asPlanned(): void {
    if (!this.heights || !this.box.isConnected) return;
    this.slider.value = String(this.heights.now.height_mm);
    this.mark(this.heights.now.height_mm);
    this.show(this.heights.now);
  }

  private show(answer: Left | Refused): void {
    if (isRefused(answer)) {
      this.answer.textContent = `${answer.problem.what}. ${answer.problem.todo}`;
      return;
    }
    this.answer.className = answer.within ? "within" : "over";
    this.answer.replaceChildren(
      part("b", answer.taper),
      part("span", `taper, walls ${answer.way}: ${answer.word}, ${answer.limit}`),
      part("span", `spacers at ${answer.height}, ${answer.torque}; fixed wall shifts ${answer.shift}`),
    );
    this.slider.setAttribute("aria-valuetext", `${answer.height}, taper ${answer.taper}`);
    const field = this.field("spacer_height");
    const planned = this.heights && Math.abs(answer.height_mm - this.heights.now.height_mm) < 0.01;
    if (field && !planned) field.value = answer.height;
  }

  // ---------------------------------------------------------------- the graph

  private x(height: number): number {
    const h = this.heights;
    if (!h || h.high_mm <= h.low_mm) return LEFT;
    return LEFT + ((height - h.low_mm) / (h.high_mm - h.low_mm)) * (WIDE - 2 * LEFT);
  }

  private draw(h: Heights): void {
    const most = Math.max(h.limit_mm, ...h.curve_mm.map(([, t]) => Math.abs(t))) * 1.12;
    const y = (taper: number): number => (HIGH - FOOT) * (1 - Math.abs(taper) / most);
    const svg = element("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, "aria-hidden": "true" });
    svg.append(element("rect", { x: 0, y: y(h.limit_mm), width: WIDE, height: HIGH - FOOT - y(h.limit_mm), class: "good" }));
    svg.append(element("line", { x1: 0, x2: WIDE, y1: y(h.limit_mm), y2: y(h.limit_mm), class: "limit" }));
    svg.append(text(`taper; dashed: its limit, ${h.limit}`, 4, y(h.limit_mm) + (y(h.limit_mm) < 14 ? 13 : -4)));
    svg.append(element("line", { x1: 0, x2: WIDE, y1: HIGH - FOOT, y2: HIGH - FOOT, class: "base" }));
    svg.append(element("polyline", { points: h.curve_mm.map(([z, t]) => `${this.x(z)},${y(t)}`).join(" "), class: "curve" }));
    for (const o of h.owned) {
      const at = this.x(o.height_mm);
      svg.append(element("line", { x1: at, x2: at, y1: HIGH - FOOT, y2: HIGH - FOOT + 6, class: "base" }));
    }
    svg.append(text(h.low, LEFT, HIGH - 6), text("spacer height; ticks: stacks you own", WIDE / 2, HIGH - 6, "middle"));
    svg.append(text(h.high, WIDE - LEFT, HIGH - 6, "end"));
    this.marker = element("line", { y1: 0, y2: HIGH - FOOT, class: "marker" });
    svg.append(this.marker);
    this.picture.replaceChildren(svg);
  }

  private mark(height: number): void {
    for (const name of ["x1", "x2"]) this.marker?.setAttribute(name, String(this.x(height)));
  }

  private list(h: Heights): void {
    const select = this.box.querySelector("select");
    if (!select) return;
    for (const o of h.owned) {
      const option = document.createElement("option");
      option.value = String(o.height_mm);
      option.textContent = `${o.height}, taper ${o.taper}: ${o.words}`;
      option.selected = Math.abs(o.height_mm - h.now.height_mm) < 0.01;
      select.append(option);
    }
    select.addEventListener("change", () => {
      if (!select.value) return;
      this.slider.value = select.value;
      this.ask();
      this.tell();
    });
  }
}

function part(tag: string, words: string, name = ""): HTMLElement {
  const out = document.createElement(tag);
  out.textContent = words;
  if (name) out.className = name;
  return out;
}

function element(tag: string, attributes: Record<string, string | number>): SVGElement {
  const out = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) out.setAttribute(name, String(value));
  return out;
}

function text(words: string, x: number, y: number, anchor = "start"): SVGElement {
  const out = element("text", { x, y, "text-anchor": anchor });
  out.textContent = words;
  return out;
}
