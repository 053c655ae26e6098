// Long work as it goes: the server tells each step; when it ends, the page is drawn anew.

import { refresh } from "./live";

interface Run {
  state: string;
  steps: string[];
}

const watched = new Map<string, EventSource>();

function isRun(value: unknown): value is Run {
  return typeof value === "object" && value !== null && "state" in value && "steps" in value;
}

export function watchRun(): void {
  const plan = document.querySelector<HTMLElement>("[data-run]")?.dataset["run"] ?? "";
  if (plan) watch(`/jobs/${plan}/progress`, (run) => {
    const at = document.querySelector("#run .step");
    if (at) at.textContent = run.steps.at(-1) ?? "starting";
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
