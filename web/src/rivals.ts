// The best stances side by side, each designed and asked the quick questions; one click tries one on the sheet.

import { isRefused, question } from "./latest";
import { verdict, type Told } from "./trial";

interface Rival {
  rank: number;
  kind: string;
  chosen: boolean;
  reason: string;
  plan: string;
  answers: Record<string, Told>;
  why_not: string;
  turn: string;
  shift: string;
  good: string;
  margin: string;
  pins: Record<string, string>;
}

export function watchRivals(): void {
  const box = document.querySelector<HTMLElement>("[data-rivals]");
  const button = box?.querySelector<HTMLButtonElement>("button[data-open]");
  if (!box || !button || box.dataset["on"]) return;
  box.dataset["on"] = "yes";
  button.addEventListener("click", () => {
    const words = button.textContent;
    button.disabled = true;
    button.textContent = "Designing each of them …";
    void question<{ rivals: Rival[] }>(box.dataset["rivals"] ?? "").then((got) => {
      if (!got || isRefused(got)) {
        button.disabled = false;
        button.textContent = words;
        const note = document.createElement("p");
        note.className = "problem";
        note.setAttribute("role", "alert");
        note.textContent = got ? `${got.problem.what}. ${got.problem.todo}` : "The server does not answer.";
        box.append(note);
        return;
      }
      const row = document.createElement("ul");
      row.className = "beside";
      row.append(...got.rivals.map(card));
      box.replaceChildren(row);
      row.tabIndex = -1;
      row.focus({ preventScroll: true });
    });
  });
}

function card(v: Rival): HTMLElement {
  const out = document.createElement("li");
  const head = document.createElement("h4");
  head.textContent = `${v.rank}. ${v.kind}, turn ${v.turn}${v.chosen ? ", chosen" : ""}`;
  out.append(head);
  if (v.plan) {
    const img = document.createElement("img");
    img.alt = `Plan view of stance ${v.rank}`;
    img.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(v.plan)}`;
    out.append(img);
  }
  out.append(p(`${v.good} of parts good, grip margin ${v.margin}, shift ${v.shift}`));
  for (const [q, told] of Object.entries(v.answers)) {
    const line = p(` ${q}`);
    line.prepend(verdict(told));
    out.append(line);
  }
  out.append(p(v.why_not ? `It cannot be held so: ${v.why_not}.` : `${v.chosen ? "Chosen" : "Lost"}: ${v.reason}.`));
  if (!v.chosen && !v.why_not) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Try it on the sheet";
    button.setAttribute("aria-label", `Try stance ${v.rank} on the sheet`);
    button.addEventListener("click", () => {
      document.dispatchEvent(new CustomEvent("pins", { detail: v.pins }));
      document.querySelector("#try")?.scrollIntoView();
    });
    out.append(button);
  }
  return out;
}

function p(words: string): HTMLElement {
  const out = document.createElement("p");
  out.textContent = words;
  return out;
}
