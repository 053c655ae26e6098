// The page of one job: its part in 3-D, kept in step with the list of faces and the answers.

import type { MeshData } from "./mesh";
import { Solid, type Role } from "./solid";

interface Face {
  index: number;
  kind: string;
  words: string;
  hole: number | null;
}

interface PartData {
  faces: Face[];
  holes: { words: string; faces: number[] }[];
  mesh: MeshData;
}

const DATUM = "#a9cdf0";
const MADE = "#e2b48f";

class Picker {
  private data: PartData | undefined;
  private chosen: number | undefined;

  constructor(
    private readonly solid: Solid,
    private readonly stage: HTMLElement,
  ) {
    solid.onPick = (face) => this.choose(face);
    solid.onHover = (face) => this.say(face);
    document.addEventListener("redrawn", () => void this.redrawn());
    document.addEventListener("change", (event) => {
      const at = event.target;
      if (at instanceof HTMLSelectElement && at.id === "face") this.choose(at.value === "" ? undefined : Number(at.value));
    });
    document.addEventListener("click", (event) => {
      const at = event.target instanceof HTMLElement ? event.target.closest<HTMLElement>("[data-ask]") : null;
      if (at) this.askOf(at.dataset["ask"] ?? "");
    });
    this.viewButtons();
  }

  async load(): Promise<void> {
    const address = this.stage.closest<HTMLElement>("[data-solid]")?.dataset["solid"];
    if (!address || this.data) return;
    const response = await fetch(address);
    if (!response.ok) return;
    const data = (await response.json()) as Partial<PartData>;
    if (!data.mesh || !data.faces) return; // not read yet; it is asked for again when it is
    this.data = data as PartData;
    this.solid.show(this.data.mesh);
    this.update();
  }

  private async redrawn(): Promise<void> {
    if (!this.data) await this.load();
    this.update();
  }

  private update(): void {
    const roles = new Map<number, Role>();
    for (const row of document.querySelectorAll<HTMLElement>(".makeable tr[data-face]")) {
      if (row.querySelector(".tick")?.textContent !== "☑") continue;
      for (const face of this.together(Number(row.dataset["face"]))) roles.set(face, { tint: MADE });
    }
    for (const row of document.querySelectorAll<HTMLElement>(".datums li[data-face]")) {
      if (!row.dataset["face"]) continue;
      roles.set(Number(row.dataset["face"]), { tint: DATUM, tag: row.dataset["letter"] ?? "" });
    }
    this.solid.setRoles(roles);
    this.choose(this.chosen);
  }

  /** The faces of one hole are halves of it: they are shown alike. */
  private together(face: number): number[] {
    const hole = this.data?.faces[face]?.hole;
    return hole == null ? [face] : (this.data?.holes[hole]?.faces ?? [face]);
  }

  private choose(face: number | undefined): void {
    this.chosen = face;
    this.solid.choose(face);
    const list = document.querySelector<HTMLSelectElement>("#face");
    if (list) list.value = face === undefined ? "" : String(face);
    const found = face === undefined ? undefined : this.data?.faces[face];
    for (const button of document.querySelectorAll<HTMLButtonElement>("#pick button")) {
      const only = button.dataset["only"];
      const fits = only === undefined || (only === "plane" ? found?.kind === "plane" : (only === "hole") === (found?.hole != null));
      button.disabled = !found || !fits;
      button.hidden = only !== undefined && !(found && fits);
    }
    document.getElementById("make-here")?.toggleAttribute("hidden", !found);
    const made = face === undefined ? "" : this.madeAt(face);
    for (const at of document.querySelectorAll<HTMLElement>("#ask-here, [data-ask]")) at.hidden = made === "";
    this.say(face);
  }

  private say(face: number | undefined): void {
    const at = this.stage.querySelector(".hover");
    const found = face === undefined ? undefined : this.data?.faces[face];
    const words = found?.hole == null ? found?.words : this.data?.holes[found.hole]?.words;
    if (at) at.textContent = words ?? "";
  }

  /** Name of the feature that is made at a face; "" when none is. */
  private madeAt(face: number): string {
    for (const row of document.querySelectorAll<HTMLElement>(".makeable tr[data-name]")) {
      if (row.dataset["name"] && this.together(Number(row.dataset["face"])).includes(face)) return row.dataset["name"];
    }
    return "";
  }

  /** The form of a new tolerance, its feature, kind and datums filled in; the zone is on the print. */
  private askOf(kind: string): void {
    const form = document.getElementById("new-tolerance");
    if (!form || this.chosen === undefined) return;
    form.setAttribute("open", "");
    const put = (key: string, value: string): void => {
      const field = form.querySelector<HTMLInputElement | HTMLSelectElement>(`[name="tolerance.new.${key}"]`);
      if (field) field.value = value;
    };
    put("feature", this.madeAt(this.chosen));
    put("kind", kind);
    const letters = [...document.querySelectorAll<HTMLElement>(".datums li")].map((d) => d.dataset["letter"] ?? "");
    const leans = kind === "parallelism" || kind === "perpendicularity";
    put("datums", kind === "flatness" || kind === "distance" ? "" : (leans ? letters.slice(0, 1) : letters).join("\n"));
    const zone = form.querySelector<HTMLInputElement>('[name="tolerance.new.zone"]');
    zone?.closest("form")?.classList.add("touched");
    zone?.focus();
  }

  private viewButtons(): void {
    const turns = document.createElement("div");
    turns.className = "turns";
    for (const from of ["slant", "top", "front", "side"] as const) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = from;
      button.setAttribute("aria-label", `${from} view`);
      button.addEventListener("click", () => this.solid.look(from));
      turns.append(button);
    }
    const hover = document.createElement("p");
    hover.className = "hover";
    this.stage.append(turns, hover);
  }
}

const stage = document.getElementById("stage");
if (stage) {
  try {
    void new Picker(new Solid(stage), stage).load();
  } catch {
    const note = document.createElement("p");
    note.className = "stage-note";
    note.textContent = "This browser does not draw in 3-D. Choose faces in the list below; everything else works.";
    stage.prepend(note);
  }
}
