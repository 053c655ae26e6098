// Long work as it goes: the server tells each step; when it ends, the page is drawn anew.

import { refresh } from "./live";

interface Run {
  state: string;
  steps: string[];
  so_far: number;
  share: number;
}

const watched = new Map<string, EventSource>();
let drawn = 0; // times that what is known so far was drawn

function isRun(value: unknown): value is Run {
  return typeof value === "object" && value !== null && "state" in value && "steps" in value;
}

export function watchRun(): void {
  const plan = document.querySelector<HTMLElement>("[data-run]")?.dataset["run"] ?? "";
  if (plan) watch(`/jobs/${plan}/progress`, (run) => {
    const at = document.querySelector("#run .step");
    if (at) at.textContent = run.steps.at(-1) ?? "starting";
    const bar = document.querySelector<HTMLProgressElement>("#run progress");
    if (bar) bar.value = run.share;
    // what is known so far is drawn on the sheet as it comes
    const sheet = document.body.classList.contains("sheet-page");
    if (sheet && run.state === "running" && run.so_far > drawn) void refresh(location.pathname + location.search);
    drawn = run.so_far;
  });
  const find = document.querySelector<HTMLElement>("[data-find]")?.dataset["find"] ?? "";
  if (find) watch(`/jobs/${find}/progress?kind=find`, (run) => {
    const at = document.querySelector("#run .step");
    if (at) at.textContent = run.steps.at(-1) ?? "starting";
  });
  const look = document.querySelector<HTMLElement>("[data-look]:not(html)")?.dataset["look"] ?? "";
  if (look) watch(`/jobs/${look}/progress?kind=look`, () => undefined);
}

function watch(address: string, step: (run: Run) => void): void {
  if (watched.has(address)) return;
  const source = new EventSource(address);
  watched.set(address, source);
  source.addEventListener("message", (event: MessageEvent<string>) => {
    const run: unknown = JSON.parse(event.data);
    if (!isRun(run)) return;
    step(run);
    if (run.state !== "waiting" && run.state !== "running") {
      source.close();
      watched.delete(address);
      void refresh(location.pathname + location.search);
    }
  });
}
