// Forms that answer in place: the change is sent, the server draws the page anew, and only what
// differs is put in. Without this script the same forms work by loading pages.

import { fetchPage, send, type Problem } from "./ask";
import { watchRun } from "./run";

export function watchForms(): void {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !("live" in form.dataset)) return;
    event.preventDefault();
    void submit(form, event.submitter);
  });
  document.addEventListener("input", (event) => {
    const form = event.target instanceof Element ? event.target.closest("form[data-live]") : null;
    form?.classList.add("touched");
    form?.classList.remove("kept");
  });
  // a choice, or a value that was typed and left, is kept at once; knobs wait for their button
  document.addEventListener("change", (event) => {
    const form = event.target instanceof Element ? event.target.closest("form[data-live]") : null;
    if (form instanceof HTMLFormElement && form.querySelector(".save") && !form.querySelector('[name="do"]')) {
      form.requestSubmit();
    }
  });
}

/** Forms in which something was changed while what they said before was still on its way. */
const changedSince = new WeakSet<HTMLFormElement>();
const onTheirWay = new Set<Promise<boolean>>();

/** Send a form; true when it was taken. What is changed meanwhile is sent as soon as this is answered. */
function submit(form: HTMLFormElement, submitter: HTMLElement | null): Promise<boolean> {
  if (form.classList.contains("busy")) {
    changedSince.add(form);
    return Promise.resolve(true);
  }
  const sent = sendForm(form, submitter);
  onTheirWay.add(sent);
  void sent.finally(() => onTheirWay.delete(sent));
  return sent;
}

async function sendForm(form: HTMLFormElement, submitter: HTMLElement | null): Promise<boolean> {
  form.classList.add("busy");
  changedSince.delete(form);
  const said = asTyped(form, submitter);
  const fields = new URLSearchParams(said);
  if (form.dataset["anyway"] !== "yes") for (const [name, text] of asDrawn(form)) fields.append(`was.${name}`, text);
  const answer = await send(form.action, fields);
  form.classList.remove("busy");
  if (answer.problem) {
    showProblem(form, answer.problem);
    if (answer.problem.code === "changed-meanwhile") form.dataset["anyway"] = "yes"; // told once
    return false;
  }
  delete form.dataset["anyway"];
  const here = location.pathname + location.search;
  const go = answer.go ?? here;
  if (go !== here && go !== location.pathname) {
    location.assign(go);
    return true;
  }
  const since = asTyped(form, submitter).toString() !== said.toString();
  if (form.querySelector(".save")) drawnAs(form, said); // its region may stay as it is, for what is typed beside it
  if (form.querySelector(".save") && since) {
    if (changedSince.has(form)) return sendForm(form, null);
  } else {
    form.classList.remove("touched");
    form.classList.add("kept");
  }
  await refresh(go);
  return true;
}

/** Planning waits for what is on its way; what was refused is told first. */
export function watchGoing(): void {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !("go" in form.dataset) || onTheirWay.size === 0) return;
    event.preventDefault();
    void Promise.all(onTheirWay).then((taken) => {
      const now = form.isConnected ? form : document.querySelector<HTMLFormElement>(`form[data-go][action="${form.getAttribute("action") ?? ""}"]`);
      if (taken.every(Boolean)) now?.requestSubmit();
    });
  });
}

function asTyped(form: HTMLFormElement, submitter: HTMLElement | null): URLSearchParams {
  const out = new URLSearchParams();
  new FormData(form, submitter).forEach((value, name) => {
    if (typeof value === "string") out.append(name, value);
  });
  return out;
}

/** What the server has now is what these fields are compared with from now on. */
function drawnAs(form: HTMLFormElement, said: URLSearchParams): void {
  for (const field of form.elements) {
    if (field instanceof HTMLSelectElement) {
      if (field.name) for (const o of field.options) o.defaultSelected = o.value === said.get(field.name);
    } else if (field instanceof HTMLTextAreaElement || (field instanceof HTMLInputElement && field.type !== "hidden")) {
      const text = said.getAll(field.name);
      if (field.name && text.length === 1) field.defaultValue = text[0] ?? "";
    }
  }
}

/** What the fields said when they were drawn, so that the server can tell what others changed meanwhile. */
function asDrawn(form: HTMLFormElement): [string, string][] {
  const out: [string, string][] = [];
  for (const field of form.elements) {
    if (field instanceof HTMLSelectElement) {
      if (field.name) out.push([field.name, [...field.options].find((o) => o.defaultSelected)?.value ?? ""]);
    } else if (field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement) {
      if (field.name && field.type !== "hidden") out.push([field.name, field.defaultValue]);
    }
  }
  return out;
}

let asked = 0;

/** Draw the page anew in place: every region marked data-part, else the whole of main. */
export async function refresh(address: string): Promise<void> {
  const mine = ++asked;
  const page = await fetchPage(address);
  if (mine !== asked) return; // a newer one is on its way, and this may be older than what is drawn
  if (!page) {
    location.assign(address);
    return;
  }
  document.title = page.title;
  const focus = focusPath();
  const open = new Set([...document.querySelectorAll("details[open][id]")].map((d) => d.id));
  const regions = [...document.querySelectorAll<HTMLElement>("[data-part]")];
  if (regions.length < 2) replaceMain(page);
  for (const old of regions) {
    const fresh = page.querySelector<HTMLElement>(`[data-part="${old.dataset["part"] ?? ""}"]`);
    if (fresh && !holdsTyping(old)) old.replaceWith(document.adoptNode(fresh));
  }
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  refocus(focus);
  watchRun();
  document.dispatchEvent(new CustomEvent("redrawn"));
}

function replaceMain(page: Document): void {
  const fresh = page.querySelector("main");
  if (fresh) document.querySelector("main")?.replaceWith(document.adoptNode(fresh));
}

/** What somebody typed and is not kept yet is not pulled away, whether this script saw it typed or not. */
function holdsTyping(region: Element): boolean {
  return [...region.querySelectorAll<HTMLFormElement>("form[data-live]:has(.save)")].some(
    (form) => !form.classList.contains("kept") && [...form.elements].some(isChanged),
  );
}

function isChanged(field: Element): boolean {
  if (field instanceof HTMLSelectElement) {
    const asDrawn = [...field.options].findIndex((o) => o.defaultSelected);
    return field.selectedIndex !== Math.max(asDrawn, 0);
  }
  if (field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement) return field.value !== field.defaultValue;
  return false;
}

function focusPath(): string {
  const at = document.activeElement;
  if (at === null || at === document.body) return "";
  if (at.id) return `#${CSS.escape(at.id)}`;
  const form = at.closest("form");
  if (form && at instanceof HTMLButtonElement) {
    const action = form.getAttribute("action") ?? "";
    const which = at.name ? `[name="${at.name}"][value="${CSS.escape(at.value)}"]` : "";
    return `form[action="${action}"] button${which}`;
  }
  return "";
}

function refocus(path: string): void {
  if (path === "") return;
  const to = document.querySelector<HTMLElement>(path);
  if (to && !to.matches(":disabled")) to.focus({ preventScroll: true });
  else document.querySelector<HTMLElement>("main")?.focus({ preventScroll: true });
}

/** Put the message to the field it speaks of; at the top of the form when it speaks of none. */
export function showProblem(form: HTMLElement, problem: Problem): void {
  for (const old of form.querySelectorAll(".problem")) old.remove();
  for (const old of form.querySelectorAll(".wrong")) old.classList.remove("wrong");
  const last = problem.field.split(".").pop() ?? "";
  const fields = [...form.querySelectorAll<HTMLElement>("[data-field]")];
  const named = fields.find((f) => f.dataset["field"] === problem.field) ??
    fields.find((f) => last !== "" && (f.dataset["field"] ?? "").split(".").pop() === last);
  const note = document.createElement("p");
  note.className = "problem";
  note.setAttribute("role", "alert");
  note.textContent = [problem.what, problem.todo].filter(Boolean).join(". ");
  if (named) {
    named.classList.add("wrong");
    named.append(note);
    named.querySelector<HTMLElement>("input, select, textarea")?.focus();
  } else form.prepend(note);
}
