// Something on the sheet is turned: the drawings follow at once, then each of the six questions answers in
// its own section. All fields for one choice move together, and nothing is kept until it is pinned.

import { isRefused, Latest, question, type Refused } from "./latest";

export interface Line {
  name: string;
  level: string;
  sentence: string;
  numbers: { label: string; value: string }[];
}

export interface Told {
  word: string;
  level: string;
  lines: Line[];
}

interface Turned {
  plan: string;
  front: string;
  answers: Record<string, Told>;
  good: string;
  margin: string;
  turn: string;
  shift: string;
  grip_depth: string;
  spacer_height: string;
}

interface Heard {
  stage: number; // -1: only drawn
  turn: number; // which of the changes it answers
  answer: Turned | Refused;
}

type Field = HTMLInputElement | HTMLSelectElement;

const REST_MS = 900; // and so long after the quick answers, for the long ones
const STILL_MS = 180; // so long nothing moved: now the proofs are worth asking for
const STAGES = [["loads", "clears"], ["holds"], ["sits"], ["locates"], ["grips"]]; // the quick ones first

export function watchTrial(): void {
  const forms = [...document.querySelectorAll<HTMLFormElement>("form[data-try]")];
  const first = forms[0];
  if (first && !first.dataset["on"]) {
    first.dataset["on"] = "yes";
    new Trial(forms).watch();
  }
}

class Trial {
  private readonly changed = new Map<string, string>();
  private readonly latest = new Latest<Heard>((heard) => this.hear(heard));
  private readonly planned = new Map<HTMLImageElement, string>();
  private readonly strip = document.querySelector<HTMLElement>("[data-trial]");
  private last: Field | undefined; // what was turned last
  private timer = 0;
  private turn = 0;

  constructor(private readonly forms: HTMLFormElement[]) {}

  watch(): void {
    for (const form of this.forms) {
      form.addEventListener("input", (event) => this.turned(event.target));
      form.addEventListener("formdata", (event) => this.complete(event.formData));
      for (const near of ["pointerenter", "focusin"]) form.addEventListener(near, () => this.warm(), { once: true });
    }
    this.strip?.querySelector("[data-pin]")?.addEventListener("click", () => this.forms[0]?.requestSubmit());
    for (const back of document.querySelectorAll("[data-as-planned]")) back.addEventListener("click", () => this.back());
    document.addEventListener("pins", (event) => {
      if (event instanceof CustomEvent && this.forms[0]?.isConnected) this.take(event.detail as Record<string, string>);
    });
  }

  /** Take values for several choices at once, as a rival has them. */
  private take(pins: Record<string, string>): void {
    for (const [name, value] of Object.entries(pins)) {
      const field = this.fields(name)[0];
      if (!field || (field instanceof HTMLSelectElement && ![...field.options].some((o) => o.value === value))) continue;
      this.last = field;
      this.set(name, value, undefined);
    }
    this.ask();
  }

  private turned(at: EventTarget | null): void {
    if (!(at instanceof HTMLInputElement || at instanceof HTMLSelectElement)) return;
    if (at instanceof HTMLInputElement && at.type === "range") {
      const own = at.dataset["for"];
      const field = own ? document.querySelector<HTMLInputElement>(`#${CSS.escape(own)}`) : null;
      if (!field) return; // the spacers' own slider says so itself when it is let go
      at.setAttribute("aria-valuetext", `${at.value} ${at.dataset["unit"] ?? ""}`);
      this.last = field;
      this.set(field.name, `${at.value} ${at.dataset["unit"] ?? ""}`.trim(), at);
    } else {
      if (!at.name.startsWith("hold.")) return;
      this.last = at;
      this.set(at.name, at.value, at);
    }
    this.ask();
  }

  private fields(name: string): Field[] {
    return this.forms.flatMap((f) => [...f.querySelectorAll<Field>(`[name="${CSS.escape(name)}"]`)]);
  }

  /** One choice has one value, wherever on the sheet it stands. */
  private set(name: string, value: string, by: Field | undefined): void {
    this.changed.set(name, value);
    for (const field of this.fields(name)) {
      if (field !== by) field.value = value;
      for (const slide of document.querySelectorAll<HTMLInputElement>(`input[data-for="${CSS.escape(field.id)}"]`)) {
        const number = Number.parseFloat(value);
        if (slide !== by && Number.isFinite(number)) slide.value = String(name.endsWith("turn") && number > 180 ? number - 360 : number);
      }
    }
  }

  /** A form takes along what was turned in the other sections. */
  private complete(data: FormData): void {
    for (const [name, value] of this.changed) data.set(name, value);
  }

  private get address(): string {
    return this.forms[0]?.dataset["try"] ?? "";
  }

  /** Somebody comes near: the server reads the part again now, not when something is turned first. */
  private warm(): void {
    if (document.body.dataset["warm"]) return;
    document.body.dataset["warm"] = "yes";
    void question(this.address, new URLSearchParams());
  }

  private ask(): void {
    this.turn += 1;
    this.clearNote();
    document.body.dataset["proven"] = "no";
    document.body.classList.add("asking");
    this.put(-1);
    window.clearTimeout(this.timer);
  }

  private put(stage: number): void {
    const fields = new URLSearchParams([...this.changed]);
    for (const q of STAGES[stage] ?? []) fields.append("ask", q);
    const turn = this.turn;
    this.latest.ask(async () => {
      if (turn !== this.turn) return undefined;
      const answer = await question<Turned>(this.address, fields);
      return answer && { stage, turn, answer };
    });
  }

  private hear({ stage, turn, answer }: Heard): void {
    if (!this.changed.size || (turn !== this.turn && stage >= 0)) return;
    if (isRefused(answer)) {
      document.body.classList.remove("asking");
      window.clearTimeout(this.timer); // there is nothing to prove
      this.clearNote();
      this.figures(`It cannot be held so: ${answer.problem.what}. ${answer.problem.todo}`, "fail");
      this.note([answer.problem.what, answer.problem.todo].filter(Boolean).join(". "));
      this.forget();
      return;
    }
    if (stage < 0) {
      this.forget();
      this.draw("plan", answer.plan);
      this.draw("front", answer.front);
      this.figures(
        `Turn ${answer.turn}, shift ${answer.shift}, grip ${answer.grip_depth}` +
          (answer.spacer_height ? `, spacers at ${answer.spacer_height}. ` : ". ") +
          `Quick figures: ${answer.good} of parts good, grip margin ${answer.margin}; the proofs decide.`,
        "",
      );
      // only once it is drawn: asked on its own clock, a proof could take the place of the drawing in the queue
      if (turn === this.turn) {
        window.clearTimeout(this.timer);
        this.timer = window.setTimeout(() => (turn === this.turn ? this.put(0) : undefined), STILL_MS);
      }
      return;
    }
    for (const [q, told] of Object.entries(answer.answers)) this.tell(q, told);
    if (stage === 0) document.body.dataset["proven"] = "yes";
    const next = () => (turn === this.turn ? this.put(stage + 1) : undefined);
    // the long questions keep the next drawing waiting: they begin once somebody has looked for a while
    if (stage + 1 < STAGES.length) this.timer = window.setTimeout(next, stage === 0 ? REST_MS : 0);
    else document.body.classList.remove("asking");
  }

  private draw(name: string, svg: string): void {
    for (const img of document.querySelectorAll<HTMLImageElement>(`img[data-drawing="${name}"]`)) {
      if (!this.planned.has(img)) this.planned.set(img, img.getAttribute("src") ?? "");
      img.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
    }
  }

  private figures(words: string, level: string): void {
    document.body.classList.add("tried");
    if (!this.strip) return;
    this.strip.hidden = false;
    this.strip.className = `trial ${level}`;
    for (const at of document.querySelectorAll("[data-figures]")) at.textContent = words;
  }

  /** What was answered before it was turned on is no answer any more. */
  private forget(): void {
    for (const at of document.querySelectorAll<HTMLElement>("[data-said]")) at.hidden = true;
    for (const at of document.querySelectorAll<HTMLElement>("[data-tried] .verdict")) {
      at.className = "verdict";
      at.textContent = "…";
    }
  }

  private tell(q: string, told: Told): void {
    const short = document.querySelector(`[data-tried="${q}"] .verdict`);
    if (short) {
      short.className = `verdict ${told.level}`;
      short.textContent = told.word;
    }
    const at = document.querySelector<HTMLElement>(`[data-said="${q}"]`);
    if (!at) return;
    at.hidden = false;
    at.className = `tried-answer ${told.level}`;
    const worst = told.lines.find((l) => l.level === told.level) ?? told.lines[0];
    const head = document.createElement("h4");
    head.append(verdict(told), ` as tried: ${worst?.name ?? ""}`);
    const sentence = document.createElement("p");
    sentence.textContent = worst?.sentence ?? "";
    const numbers = document.createElement("dl");
    numbers.className = "numbers";
    for (const n of worst?.numbers ?? []) numbers.append(fact(n.label, n.value));
    at.replaceChildren(head, sentence, numbers);
  }

  private back(): void {
    window.clearTimeout(this.timer);
    this.turn += 1;
    this.changed.clear();
    for (const form of this.forms) form.reset();
    for (const [img, src] of this.planned) img.src = src;
    document.body.classList.remove("tried", "asking");
    this.clearNote();
    this.forget();
    if (this.strip) this.strip.hidden = true;
    document.dispatchEvent(new CustomEvent("as-planned"));
    this.last?.focus({ preventScroll: true });
  }

  /** What is wrong, beside what was turned last. */
  private note(words: string): void {
    const at = this.last?.closest<HTMLElement>("[data-field]");
    if (!at) return;
    at.classList.add("wrong");
    const p = document.createElement("p");
    p.className = "problem as-turned";
    p.setAttribute("role", "alert");
    p.textContent = words;
    at.append(p);
  }

  private clearNote(): void {
    for (const old of document.querySelectorAll(".as-turned")) {
      old.closest(".wrong")?.classList.remove("wrong");
      old.remove();
    }
  }
}

/** A verdict as the server draws it. */
export function verdict(told: { word: string; level: string }): HTMLElement {
  const out = document.createElement("span");
  out.className = `verdict ${told.level}`;
  out.textContent = told.word;
  return out;
}

function fact(label: string, value: string): HTMLElement {
  const out = document.createElement("div");
  const [dt, dd] = [document.createElement("dt"), document.createElement("dd")];
  dt.textContent = label;
  dd.textContent = value;
  out.append(dt, dd);
  return out;
}
