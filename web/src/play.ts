// The jaw program played back from above: metal goes where the independent reader says the cutter went.

import { isRefused, question } from "./latest";

interface Step {
  line: number;
  rapid: boolean;
  cutter: string;
  diameter: number;
  seconds: number;
  at: number[];
}

interface Moves {
  blanks: [number, number, number, number, number][];
  spacers: [number, number, number, number, number][];
  floor: number;
  lines: string[];
  steps: Step[];
}

const CELL = 0.25; // mm
const STAMP = 0.35; // mm between two prints of the cutter
const RAPID = 80; // mm/s, to give rapids a time of their own
const SPEED = 12; // times faster than the machine

export function watchPlay(): void {
  const box = document.querySelector<HTMLElement>("[data-play]");
  const button = box?.querySelector<HTMLButtonElement>("button[data-open]");
  if (!box || !button || box.dataset["on"]) return;
  box.dataset["on"] = "yes";
  button.addEventListener("click", () => {
    button.disabled = true;
    void question<Moves>(box.dataset["play"] ?? "").then((got) => {
      if (!got || isRefused(got)) {
        button.disabled = false;
        return;
      }
      button.hidden = true;
      new Play(box, got);
    });
  });
}

class Play {
  private readonly canvas: HTMLCanvasElement;
  private readonly slider: HTMLInputElement;
  private readonly button: HTMLButtonElement;
  private readonly words: HTMLElement;
  private readonly ends: number[] = []; // time at the end of each step [s]
  private readonly box: [number, number, number, number];
  private readonly columns: number;
  private readonly rows: number;
  private metal!: Float32Array; // height of metal, by cell [mm]; below 0: air
  private done = 0; // steps cut so far
  private time = 0;
  private going = false;
  private last = 0;

  constructor(box: HTMLElement, private readonly moves: Moves) {
    box.querySelector("[data-shown]")?.removeAttribute("hidden");
    const found = <T extends Element>(selector: string): T => box.querySelector<T>(selector) as T;
    this.canvas = found("canvas");
    this.slider = found("input[type=range]");
    this.button = found("button[data-go]");
    this.words = found("[data-line]");
    let t = 0;
    for (const s of moves.steps) this.ends.push((t += s.rapid ? length(s) / RAPID : s.seconds));
    this.slider.max = String(Math.ceil(t));
    const xs = moves.blanks.flatMap((b) => [b[0], b[2]]);
    const ys = moves.blanks.flatMap((b) => [b[1], b[3]]);
    this.box = [Math.min(...xs) - 2, Math.min(...ys) - 2, Math.max(...xs) + 2, Math.max(...ys) + 2];
    this.columns = Math.ceil((this.box[2] - this.box[0]) / CELL);
    this.rows = Math.ceil((this.box[3] - this.box[1]) / CELL);
    this.canvas.width = this.columns;
    this.canvas.height = this.rows;
    this.fresh();
    this.slider.addEventListener("input", () => this.to(Number(this.slider.value)));
    this.button.addEventListener("click", () => this.toggle());
    this.to(0);
    this.toggle();
  }

  private fresh(): void {
    this.metal = new Float32Array(this.columns * this.rows).fill(-1);
    for (const [x0, y0, x1, y1, high] of this.moves.blanks) this.fill(x0, y0, x1, y1, high);
    this.done = 0;
  }

  private fill(x0: number, y0: number, x1: number, y1: number, high: number): void {
    const [i0, i1] = [Math.round((x0 - this.box[0]) / CELL), Math.round((x1 - this.box[0]) / CELL)];
    const [j0, j1] = [Math.round((y0 - this.box[1]) / CELL), Math.round((y1 - this.box[1]) / CELL)];
    for (let j = j0; j < j1; j++) this.metal.fill(high, j * this.columns + i0, j * this.columns + i1);
  }

  private toggle(): void {
    this.going = !this.going;
    if (this.going && this.time >= Number(this.slider.max)) this.to(0);
    this.button.textContent = this.going ? "Hold" : "Play";
    this.last = performance.now();
    if (this.going) requestAnimationFrame((now) => this.tick(now));
  }

  private tick(now: number): void {
    if (!this.going || !this.canvas.isConnected) return;
    const end = Number(this.slider.max);
    this.to(Math.min(end, this.time + ((now - this.last) / 1000) * SPEED));
    this.last = now;
    this.slider.value = String(this.time);
    if (this.time >= end) this.toggle();
    else requestAnimationFrame((next) => this.tick(next));
  }

  private to(time: number): void {
    if (time < this.time) this.fresh();
    this.time = time;
    while (this.done < this.ends.length && (this.ends[this.done] ?? 0) <= time) this.cut(this.done++, 1);
    const begun = this.done > 0 ? (this.ends[this.done - 1] ?? 0) : 0;
    const share = this.done < this.ends.length ? (time - begun) / Math.max((this.ends[this.done] ?? 0) - begun, 1e-9) : 0;
    const tip = this.done < this.ends.length ? this.cut(this.done, share) : undefined;
    this.draw(tip);
  }

  /** Take the metal a share of a step removes; gives where the tip is then. */
  private cut(n: number, share: number): [number, number, number] | undefined {
    const s = this.moves.steps[n];
    if (!s) return undefined;
    let left = share * length(s);
    let tip: [number, number, number] = [s.at[0] ?? 0, s.at[1] ?? 0, s.at[2] ?? 0];
    for (let k = 3; k < s.at.length; k += 3) {
      const to: [number, number, number] = [s.at[k] ?? 0, s.at[k + 1] ?? 0, s.at[k + 2] ?? 0];
      const d = Math.hypot(to[0] - tip[0], to[1] - tip[1], to[2] - tip[2]);
      const part = d > 0 ? Math.min(1, left / d) : 1;
      const count = Math.max(1, Math.ceil((part * d) / STAMP));
      const from = tip;
      for (let i = 1; i <= count; i++) {
        const t = (part * i) / count;
        tip = [from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t, from[2] + (to[2] - from[2]) * t];
        if (s.diameter > 0) this.stamp(tip, s.diameter / 2);
      }
      left -= d;
      if (left <= 0 && part < 1) break;
    }
    return tip;
  }

  private stamp([x, y, z]: [number, number, number], r: number): void {
    const [cx, cy, cr] = [(x - this.box[0]) / CELL - 0.5, (y - this.box[1]) / CELL - 0.5, r / CELL];
    for (let j = Math.max(0, Math.ceil(cy - cr)); j <= Math.min(this.rows - 1, cy + cr); j++) {
      const half = Math.sqrt(Math.max(0, cr * cr - (j - cy) * (j - cy)));
      const end = Math.min(this.columns - 1, Math.floor(cx + half));
      for (let i = Math.max(0, Math.ceil(cx - half)); i <= end; i++) {
        const at = j * this.columns + i;
        if ((this.metal[at] ?? -1) > z) this.metal[at] = z;
      }
    }
  }

  private draw(tip: [number, number, number] | undefined): void {
    const pen = this.canvas.getContext("2d");
    if (!pen) return;
    const image = pen.createImageData(this.columns, this.rows);
    const top = Math.max(...this.moves.blanks.map((b) => b[4]));
    for (let j = 0; j < this.rows; j++) {
      for (let i = 0; i < this.columns; i++) {
        const z = this.metal[(this.rows - 1 - j) * this.columns + i] ?? -1;
        const deep = Math.min(1, (top - z) / Math.max(top - this.moves.floor + 4, 1));
        const [r, g, b] = z < 0 ? [255, 255, 255] : [228 - 140 * deep, 226 - 120 * deep, 218 - 90 * deep];
        image.data.set([r ?? 0, g ?? 0, b ?? 0, 255], 4 * (j * this.columns + i));
      }
    }
    pen.putImageData(image, 0, 0);
    for (const [x0, y0, x1, y1] of this.moves.spacers) {
      pen.fillStyle = "#d9b36c";
      pen.fillRect(this.px(x0), this.py(y1), (x1 - x0) / CELL, (y1 - y0) / CELL);
    }
    const step = this.moves.steps[Math.min(this.done, this.moves.steps.length - 1)];
    if (tip && step) {
      pen.strokeStyle = step.rapid ? "#9b1c1c" : "#0b5cad";
      pen.lineWidth = 2;
      pen.setLineDash(step.rapid ? [5, 4] : []);
      pen.beginPath();
      pen.arc(this.px(tip[0]), this.py(tip[1]), Math.max(step.diameter / 2 / CELL, 3), 0, 2 * Math.PI);
      pen.stroke();
      pen.setLineDash([]);
    }
    const line = step ? (this.moves.lines[step.line - 1] ?? "") : "";
    const clock = `${Math.floor(this.time / 60)} min ${String(Math.floor(this.time % 60)).padStart(2, "0")} s`;
    this.words.textContent = `${clock} · ${step?.cutter || "no cutter"}${step?.rapid ? " · rapid, dashed" : ""} · ${line}`;
    this.slider.setAttribute("aria-valuetext", clock);
  }

  private px(x: number): number {
    return (x - this.box[0]) / CELL;
  }

  private py(y: number): number {
    return this.rows - (y - this.box[1]) / CELL;
  }
}

function length(s: Step): number {
  let sum = 0;
  for (let k = 3; k < s.at.length; k += 3) {
    sum += Math.hypot(
      (s.at[k] ?? 0) - (s.at[k - 3] ?? 0), (s.at[k + 1] ?? 0) - (s.at[k - 2] ?? 0), (s.at[k + 2] ?? 0) - (s.at[k - 1] ?? 0),
    );
  }
  return sum;
}
