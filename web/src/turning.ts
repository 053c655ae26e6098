// Another stance tried on the sheet: the drawings follow at once, the quick proofs a moment later.

import { isRefused, Latest, question, type Refused } from "./latest";

interface Line {
  name: string;
  level: string;
  sentence: string;
}

interface Turned {
  plan: string;
  front: string;
  answers: { ask: string; word: string; level: string; lines: Line[] }[];
  good: string;
  margin: string;
  asked: string;
  loose: boolean;
  turn: string;
  shift: string;
  grip_depth: string;
  spacer_height: string;
}

const STILL_MS = 180; // so long nothing moved: now the proofs are worth asking for

export function watchTurning(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-try]");
  if (form && !form.dataset["on"]) {
    form.dataset["on"] = "yes";
    new Turning(form).watch();
  }
}

class Turning {
  private readonly latest = new Latest<Turned | Refused>((answer) => this.show(answer));
  private readonly answer: HTMLElement | null;
  private readonly planned = new Map<HTMLImageElement, string>();
  private timer = 0;

  constructor(private readonly form: HTMLFormElement) {
    this.answer = form.querySelector("[data-answer]");
  }

  watch(): void {
    this.form.addEventListener("input", (event) => {
      const at = event.target;
      if (at instanceof HTMLInputElement && at.type === "range") {
        const field = this.form.querySelector<HTMLInputElement>(`#${CSS.escape(at.dataset["for"] ?? "")}`);
        if (field) field.value = `${at.value} ${at.dataset["unit"] ?? ""}`;
        at.setAttribute("aria-valuetext", field?.value ?? at.value);
      } else if (at instanceof HTMLInputElement) this.follow(at);
      this.ask(false);
      window.clearTimeout(this.timer);
      this.timer = window.setTimeout(() => this.ask(true), STILL_MS);
    });
    for (const near of ["pointerenter", "focusin"]) this.form.addEventListener(near, () => this.warm(), { once: true });
    this.form.querySelector("[data-as-planned]")?.addEventListener("click", () => this.back());
  }

  /** Somebody comes near: the server reads the part again now, not when something is turned first. */
  private warm(): void {
    if (this.form.dataset["warm"]) return;
    this.form.dataset["warm"] = "yes";
    void question(this.form.dataset["try"] ?? "", this.fields());
  }

  private fields(): URLSearchParams {
    const fields = new URLSearchParams();
    new FormData(this.form).forEach((value, name) => {
      if (typeof value === "string" && name.startsWith("hold.")) fields.append(name, value);
    });
    return fields;
  }

  /** The slider of a field goes where a number was typed. */
  private follow(field: HTMLInputElement): void {
    const slider = this.form.querySelector<HTMLInputElement>(`input[data-for="${CSS.escape(field.id)}"]`);
    const value = Number.parseFloat(field.value);
    if (slider && Number.isFinite(value)) slider.value = String(field.id.endsWith("turn") && value > 180 ? value - 360 : value);
  }

  private ask(proofs: boolean): void {
    const fields = this.fields();
    if (proofs) fields.set("proofs", "yes");
    this.form.classList.add("asking");
    this.latest.ask(() => question<Turned>(this.form.dataset["try"] ?? "", fields));
  }

  private show(answer: Turned | Refused): void {
    this.form.classList.remove("asking");
    if (isRefused(answer)) {
      this.say("fail", [`It cannot be held so: ${answer.problem.what}.`, answer.problem.todo]);
      return;
    }
    document.body.classList.add("tried");
    for (const name of ["plan", "front"] as const) this.draw(name, answer[name]);
    const lines = [
      `Turn ${answer.turn}, shift ${answer.shift}, grip ${answer.grip_depth}` +
        (answer.spacer_height ? `, spacers at ${answer.spacer_height}` : ""),
      `Quick figures: ${answer.good} of parts good, load factor ${answer.margin} where ${answer.asked} is asked for` +
        (answer.loose ? ": so it would not be held well enough." : "."),
    ];
    this.say(answer.loose ? "fail" : "", lines);
    if (!answer.answers.length) this.note("Quick proofs follow when nothing moves.");
    for (const a of answer.answers) this.proof(a);
    this.form.dataset["proven"] = answer.answers.length ? "yes" : "no";
  }

  private draw(name: string, svg: string): void {
    for (const img of document.querySelectorAll<HTMLImageElement>(`img[data-drawing="${name}"]`)) {
      if (!this.planned.has(img)) this.planned.set(img, img.getAttribute("src") ?? "");
      img.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
    }
  }

  private back(): void {
    window.clearTimeout(this.timer);
    this.form.reset();
    for (const [img, src] of this.planned) img.src = src;
    document.body.classList.remove("tried");
    this.say("", ["As planned."]);
  }

  private say(level: string, lines: string[]): void {
    if (!this.answer) return;
    this.answer.className = `tried-answer ${level}`;
    this.answer.replaceChildren();
    for (const line of lines.filter(Boolean)) this.note(line);
  }

  private note(words: string): void {
    const p = document.createElement("p");
    p.textContent = words;
    this.answer?.append(p);
  }

  private proof(a: Turned["answers"][number]): void {
    const worst = a.lines.find((l) => l.level === a.level) ?? a.lines[0];
    const p = document.createElement("p");
    const word = document.createElement("span");
    word.className = `verdict ${a.level}`;
    word.textContent = a.word;
    p.append(word, ` ${a.ask.split(":")[0] ?? ""}: ${worst?.sentence ?? ""}`);
    this.answer?.append(p);
  }
}
