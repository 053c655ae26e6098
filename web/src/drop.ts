// A part dropped on the page becomes a job.

import { sendFile, type Problem } from "./ask";
import { refresh, showProblem } from "./live";

const MOST_BYTES = 60_000_000;

export function watchDrop(): void {
  const place = document.querySelector<HTMLElement>("[data-drop]");
  const input = document.querySelector<HTMLInputElement>("#part-file");
  if (!place || !input) return;
  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) void take(place, file);
  });
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    place.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => {
    if (event.relatedTarget === null) place.classList.remove("over");
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    place.classList.remove("over");
    const file = event.dataTransfer?.files[0];
    if (file) void take(place, file);
  });
}

/** Files that belong to a job: sent as soon as they are chosen. */
export function watchFiles(): void {
  document.addEventListener("change", (event) => {
    const input = event.target;
    if (!(input instanceof HTMLInputElement) || input.type !== "file" || !input.dataset["send"]) return;
    const [file, form] = [input.files?.[0], input.closest("form")];
    if (!file || !form) return;
    form.classList.add("busy");
    void (async () => {
      const tooLarge = file.size > MOST_BYTES;
      const answer = tooLarge ? { problem: large(file) } : await sendFile(input.dataset["send"] ?? "", file);
      form.classList.remove("busy");
      input.value = "";
      if (answer.problem) showProblem(form, { ...answer.problem, field: input.closest<HTMLElement>("[data-field]")?.dataset["field"] ?? "" });
      else await refresh(location.pathname + location.search);
    })();
  });
}

function large(file: File): Problem {
  return { code: "file-too-large", what: `${file.name} has ${Math.ceil(file.size / 1e6)} MB, 60 MB is the most`, where: "", todo: "Export the one part alone", field: "" };
}

async function take(place: HTMLElement, file: File): Promise<void> {
  const note = document.getElementById("drop-problem");
  const say = (text: string): void => {
    if (note) note.textContent = text;
  };
  if (place.classList.contains("busy")) return; // the one before is still on its way
  if (file.size > MOST_BYTES) {
    say(`${large(file).what}. ${large(file).todo}.`);
    return;
  }
  say("");
  place.classList.add("busy");
  const answer = await sendFile(place.dataset["drop"] ?? "/jobs", file);
  place.classList.remove("busy");
  if (answer.go) location.assign(answer.go);
  else say([answer.problem?.what, answer.problem?.todo].filter(Boolean).join(". "));
}
