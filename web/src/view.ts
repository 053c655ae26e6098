// The hold in 3-D: jaws and part in the vise, with what the clamp does to them drawn larger.

import {
  AmbientLight,
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshLambertMaterial,
  OrthographicCamera,
  Scene,
  Vector3,
  WebGLRenderer,
} from "three";

import { isRefused, question } from "./latest";
import { border, ends, type MeshData } from "./mesh";

type Body = "part" | "beside" | "fixed" | "floating"; // beside: the further parts of a row

type Moved = MeshData & { moved_um?: number[] };

interface Solids {
  bodies: Partial<Record<Body, Moved>>;
  why_not: string;
}

interface Shown {
  mesh: Mesh;
  edges: LineSegments;
  rest: Float32Array; // points as they lie without the clamp
  edgeRest: Float32Array;
  move: Float32Array; // of each point [mm], empty where it is not known
  edgeMove: Float32Array;
}

const TINT: Record<Body, string> = { part: "#efe3c0", beside: "#f5eedb", fixed: "#c9d6df", floating: "#d3dccd" };
const HALF_PI = Math.PI / 2;

export async function openView(stage: HTMLElement): Promise<void> {
  const got = await question<Solids>(stage.dataset["view"] ?? "");
  const note = stage.querySelector(".stage-note");
  if (!got || isRefused(got)) {
    if (note) note.textContent = got?.problem.what ?? "The server does not answer.";
    return;
  }
  new View(stage, got);
}

class View {
  private readonly canvas = document.createElement("canvas");
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera(-1, 1, 1, -1, -1e4, 1e4);
  private readonly shown = new Map<Body, Shown>();
  private readonly center = new Vector3();
  private radius = 1;
  private turn = -0.5;
  private tilt = 0.75;
  private zoom = 1;
  private waiting = false;

  constructor(private readonly stage: HTMLElement, private readonly solids: Solids) {
    this.renderer = new WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "img");
    this.canvas.setAttribute("aria-label", "Jaws and part in the vise. Arrow keys turn the view, plus and minus zoom.");
    stage.querySelector(".stage-note")?.remove();
    stage.querySelector(".stage")?.prepend(this.canvas);
    stage.querySelector("[data-shown]")?.removeAttribute("hidden");
    const sun = new DirectionalLight(0xffffff, 1.9);
    sun.position.set(-0.4, 0.7, 1);
    sun.target.position.set(0, 0, -1);
    this.camera.add(sun, sun.target);
    this.scene.add(new AmbientLight(0xffffff, 1.5), this.camera);
    for (const name of ["fixed", "floating", "part", "beside"] as const) this.add(name);
    this.fit();
    this.listen();
    new ResizeObserver(() => this.draw()).observe(this.canvas.parentElement ?? stage);
    this.bend(0);
    stage.dataset["drawn"] = "yes";
  }

  private add(name: Body): void {
    const data = this.solids.bodies[name];
    if (!data) return;
    const geometry = new BufferGeometry();
    const rest = new Float32Array(data.points_mm);
    geometry.setAttribute("position", new BufferAttribute(rest.slice(), 3));
    geometry.setIndex(data.corners);
    geometry.computeVertexNormals();
    const material = new MeshLambertMaterial({
      color: new Color(TINT[name]), side: DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
    });
    const mesh = new Mesh(geometry, material);
    const edges = new LineSegments(border(data), new LineBasicMaterial({ color: 0x1b1f24 }));
    const edgeRest = (edges.geometry.getAttribute("position").array as Float32Array).slice();
    const move = new Float32Array(data.moved_um ?? []).map((v) => v / 1000);
    const edgeMove = new Float32Array(move.length ? ends(data).flatMap((p) => [...move.slice(3 * p, 3 * p + 3)]) : []);
    this.scene.add(mesh, edges);
    this.shown.set(name, { mesh, edges, rest, edgeRest, move, edgeMove });
  }

  private fit(): void {
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (const s of this.shown.values()) {
      s.mesh.geometry.computeBoundingBox();
      const box = s.mesh.geometry.boundingBox;
      if (box) {
        low.min(box.min);
        high.max(box.max);
      }
    }
    this.center.addVectors(low, high).multiplyScalar(0.5);
    this.radius = high.sub(low).length() / 2 || 1;
  }

  /** Move every point ``times`` as far as the clamp moves it. */
  private bend(times: number): void {
    for (const s of this.shown.values()) {
      shift(s.mesh.geometry, s.rest, s.move, times);
      shift(s.edges.geometry, s.edgeRest, s.edgeMove, times);
      s.mesh.geometry.computeVertexNormals();
    }
    this.draw();
  }

  private draw(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      const at = this.canvas.parentElement;
      if (!at?.clientWidth || !at.clientHeight) return;
      this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
      this.renderer.setSize(at.clientWidth, at.clientHeight, false);
      const [s, c] = [Math.sin(this.tilt), Math.cos(this.tilt)];
      const away = new Vector3(Math.sin(this.turn) * c, -Math.cos(this.turn) * c, s);
      const wide = (this.radius * Math.max(1, at.clientWidth / at.clientHeight) * 0.8) / this.zoom;
      const high = (wide * at.clientHeight) / at.clientWidth;
      Object.assign(this.camera, { left: -wide, right: wide, top: high, bottom: -high });
      this.camera.updateProjectionMatrix();
      this.camera.up.set(-Math.sin(this.turn) * s, Math.cos(this.turn) * s, c);
      this.camera.position.copy(this.center).addScaledVector(away, this.radius * 4);
      this.camera.lookAt(this.center);
      this.renderer.render(this.scene, this.camera);
    });
  }

  private rotate(turn: number, tilt: number): void {
    this.turn += turn;
    this.tilt = Math.max(-HALF_PI, Math.min(HALF_PI, this.tilt + tilt));
    this.draw();
  }

  private scale(by: number): void {
    this.zoom = Math.max(0.5, Math.min(20, this.zoom * by));
    this.draw();
  }

  private listen(): void {
    const slider = this.stage.querySelector<HTMLInputElement>("input[type=range]");
    const words = this.stage.querySelector("[data-times]");
    if (this.solids.why_not && slider) {
      slider.disabled = true;
      if (words) words.textContent = `as it is: what it does is not known, ${this.solids.why_not}`;
    }
    slider?.addEventListener("input", () => {
      const times = Number(slider.value);
      if (words) words.textContent = times ? `${times} times larger` : "as it is";
      slider.setAttribute("aria-valuetext", words?.textContent ?? "");
      this.bend(times);
    });
    for (const box of this.stage.querySelectorAll<HTMLInputElement>("input[data-body]")) {
      box.addEventListener("change", () => {
        for (const name of box.dataset["body"] === "part" ? (["part", "beside"] as const) : [box.dataset["body"] as Body]) {
          const s = this.shown.get(name);
          if (s) s.mesh.visible = s.edges.visible = box.checked;
        }
        this.draw();
      });
    }
    let last: PointerEvent | undefined;
    this.canvas.addEventListener("pointerdown", (event) => {
      last = event;
      this.canvas.setPointerCapture(event.pointerId);
    });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!last) return;
      this.rotate((last.clientX - event.clientX) * 0.01, (event.clientY - last.clientY) * 0.01);
      last = event;
    });
    for (const name of ["pointerup", "pointercancel"] as const) this.canvas.addEventListener(name, () => (last = undefined));
    this.canvas.addEventListener("keydown", (event) => {
      const turns: Record<string, [number, number]> = {
        ArrowLeft: [0.12, 0], ArrowRight: [-0.12, 0], ArrowUp: [0, -0.12], ArrowDown: [0, 0.12],
      };
      const by = turns[event.key];
      if (by) this.rotate(...by);
      else if (event.key === "+" || event.key === "=") this.scale(1.15);
      else if (event.key === "-") this.scale(1 / 1.15);
      else return;
      event.preventDefault();
    });
  }
}

function shift(geometry: BufferGeometry, rest: Float32Array, move: Float32Array, times: number): void {
  const at = geometry.getAttribute("position");
  const to = at.array as Float32Array;
  for (let i = 0; i < rest.length; i++) to[i] = (rest[i] ?? 0) + times * (move[i] ?? 0);
  at.needsUpdate = true;
}
