// A part dropped on the page becomes a job.

import { sendFile } from "./ask";

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

async function take(place: HTMLElement, file: File): Promise<void> {
  const note = document.getElementById("drop-problem");
  const say = (text: string): void => {
    if (note) note.textContent = text;
  };
  if (file.size > MOST_BYTES) {
    say(`${file.name} has ${Math.ceil(file.size / 1e6)} MB, 60 MB is the most. Export the one part alone.`);
    return;
  }
  say("");
  place.classList.add("busy");
  const answer = await sendFile(place.dataset["drop"] ?? "/jobs", file);
  place.classList.remove("busy");
  if (answer.go) location.assign(answer.go);
  else say([answer.problem?.what, answer.problem?.todo].filter(Boolean).join(". "));
}
