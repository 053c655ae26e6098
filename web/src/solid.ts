// The part in 3-D: an orthographic view, as on a drawing, whose faces can be picked.

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
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";

import { border, type MeshData } from "./mesh";

/** What a face is to the job: its tint and, for datums, its letter. */
export interface Role {
  tint: string;
  tag?: string;
}

const PLAIN = "#efe3c0"; // the part's color on our drawings
const HOVER = "#fff6d8";
const CHOSEN = "#4f9de0";
const HALF_PI = Math.PI / 2;

export class Solid {
  readonly canvas = document.createElement("canvas");
  onHover: (face: number | undefined) => void = () => undefined;
  onPick: (face: number) => void = () => undefined;

  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera(-1, 1, 1, -1, -1e4, 1e4);
  private readonly sun = new DirectionalLight(0xffffff, 1.9);
  private readonly ray = new Raycaster();
  private mesh: Mesh | undefined;
  private edges: LineSegments | undefined;
  private owner: number[] = [];
  private ownerOfPoint: number[] = [];
  private middles = new Map<number, Vector3>();
  private normals = new Map<number, Vector3>();
  private roles = new Map<number, Role>();
  private readonly center = new Vector3();
  private readonly half = new Vector3(1, 1, 1); // half the box of the part
  private radius = 1;
  private zoom = 1;
  private turn = -0.65;
  private tilt = 0.6;
  private hovered: number | undefined;
  private chosen: number | undefined;
  private waiting = false;

  constructor(private readonly stage: HTMLElement) {
    this.renderer = new WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "img");
    this.canvas.setAttribute(
      "aria-label",
      "The part in 3-D. Arrow keys turn it, plus and minus zoom. Faces can be chosen in the list below.",
    );
    this.stage.prepend(this.canvas);
    this.sun.position.set(-0.4, 0.7, 1);
    this.scene.add(new AmbientLight(0xffffff, 1.5), this.sun, this.camera);
    this.camera.add(this.sun, this.sun.target);
    this.sun.target.position.set(0, 0, -1);
    this.listen();
    new ResizeObserver(() => this.draw()).observe(this.stage);
  }

  show(data: MeshData): void {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(data.points_mm), 3));
    geometry.setAttribute("color", new BufferAttribute(new Float32Array(data.points_mm.length), 3));
    geometry.setIndex(data.corners);
    geometry.computeVertexNormals(); // points are not shared between faces, so edges stay sharp
    this.owner = data.owner;
    this.ownerOfPoint = new Array<number>(data.points_mm.length / 3).fill(-1);
    data.corners.forEach((point, i) => {
      this.ownerOfPoint[point] = data.owner[Math.floor(i / 3)] ?? -1;
    });
    const material = new MeshLambertMaterial({
      vertexColors: true,
      side: DoubleSide,
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
    });
    this.mesh = new Mesh(geometry, material);
    this.edges = new LineSegments(border(data), new LineBasicMaterial());
    this.scene.add(this.mesh, this.edges);
    geometry.computeBoundingBox();
    geometry.boundingBox?.getCenter(this.center);
    geometry.boundingBox?.getSize(this.half).multiplyScalar(0.5);
    this.radius = this.half.length() || 1;
    [this.middles, this.normals] = middles(data);
    this.paint();
    this.stage.dataset["drawn"] = "yes"; // from now on faces can be picked
  }

  setRoles(roles: Map<number, Role>): void {
    this.roles = roles;
    this.paint();
  }

  choose(face: number | undefined): void {
    this.chosen = face;
    this.paint();
  }

  /** Look from above, from the front, from the side, or slantwise; fits the part into the view. */
  look(from: "top" | "front" | "side" | "slant"): void {
    const views = { top: [0, HALF_PI], front: [0, 0], side: [HALF_PI, 0], slant: [-0.65, 0.6] } as const;
    [this.turn, this.tilt] = views[from];
    this.zoom = 1;
    this.draw();
  }

  private paint(): void {
    const colors = this.mesh?.geometry.getAttribute("color");
    if (!colors) return;
    const tints = new Map<number, Color>();
    this.ownerOfPoint.forEach((face, point) => {
      let tint = tints.get(face);
      if (!tint) {
        const role = this.roles.get(face)?.tint ?? PLAIN;
        tint = new Color(face === this.chosen ? CHOSEN : face === this.hovered ? HOVER : role);
        tints.set(face, tint);
      }
      colors.setXYZ(point, tint.r, tint.g, tint.b);
    });
    colors.needsUpdate = true;
    this.draw();
  }

  draw(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.render();
    });
  }

  private render(): void {
    const width = this.stage.clientWidth;
    const height = this.stage.clientHeight;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(width, height, false);
    const away = this.aim(width, height);
    if (this.edges) {
      const ink = getComputedStyle(document.documentElement).getPropertyValue("--ink").trim();
      (this.edges.material as LineBasicMaterial).color.set(ink.startsWith("#e") ? "#0b0d0f" : ink || "#1b1f24");
    }
    this.renderer.render(this.scene, this.camera);
    this.placeTags(away);
  }

  /** Point the camera as the view is turned now; gives the direction away from the part. */
  private aim(width: number, height: number): Vector3 {
    const [s, c] = [Math.sin(this.tilt), Math.cos(this.tilt)];
    const away = new Vector3(Math.sin(this.turn) * c, -Math.cos(this.turn) * c, s);
    const up = new Vector3(-Math.sin(this.turn) * s, Math.cos(this.turn) * s, c);
    const right = new Vector3().crossVectors(up, away);
    const [x, y] = [this.extent(right), this.extent(up)];
    const wide = (Math.max(x, (y * width) / height) * 1.16) / this.zoom;
    const high = (wide * height) / width;
    Object.assign(this.camera, { left: -wide, right: wide, top: high, bottom: -high });
    this.camera.updateProjectionMatrix();
    this.camera.up.copy(up);
    this.camera.position.copy(this.center).addScaledVector(away, this.radius * 4);
    this.camera.lookAt(this.center);
    this.camera.updateMatrixWorld();
    return away;
  }

  /** Half the part's box as seen along a direction. */
  private extent(along: Vector3): number {
    return Math.abs(along.x) * this.half.x + Math.abs(along.y) * this.half.y + Math.abs(along.z) * this.half.z;
  }

  private placeTags(away: Vector3): void {
    for (const old of this.stage.querySelectorAll(".tag")) old.remove();
    for (const [face, role] of this.roles) {
      const middle = this.middles.get(face);
      if (!role.tag || !middle) continue;
      const at = middle.clone().project(this.camera);
      const tag = document.createElement("span");
      const behind = (this.normals.get(face)?.dot(away) ?? 1) < 0.02;
      tag.className = behind ? "tag behind" : "tag"; // dashed is hidden, as on a drawing
      tag.textContent = role.tag;
      tag.style.left = `${(at.x * 0.5 + 0.5) * 100}%`;
      tag.style.top = `${(0.5 - at.y * 0.5) * 100}%`;
      this.stage.append(tag);
    }
  }

  private faceAt(event: PointerEvent): number | undefined {
    if (!this.mesh) return undefined;
    const box = this.canvas.getBoundingClientRect();
    this.aim(box.width, box.height); // the view may have been turned since it was drawn
    const x = ((event.clientX - box.left) / box.width) * 2 - 1;
    const y = 1 - ((event.clientY - box.top) / box.height) * 2;
    this.ray.setFromCamera(new Vector2(x, y), this.camera);
    const hit = this.ray.intersectObject(this.mesh)[0];
    return hit?.faceIndex == null ? undefined : this.owner[hit.faceIndex];
  }

  private listen(): void {
    let last: { x: number; y: number; moved: number } | undefined;
    this.canvas.addEventListener("pointerdown", (event) => {
      last = { x: event.clientX, y: event.clientY, moved: 0 };
      this.canvas.setPointerCapture(event.pointerId);
    });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!last) {
        this.hover(this.faceAt(event));
        return;
      }
      const [dx, dy] = [event.clientX - last.x, event.clientY - last.y];
      last = { x: event.clientX, y: event.clientY, moved: last.moved + Math.abs(dx) + Math.abs(dy) };
      if (last.moved > 4) this.rotate(-dx * 0.01, dy * 0.01);
    });
    this.canvas.addEventListener("pointerup", (event) => {
      const face = last && last.moved <= 4 ? this.faceAt(event) : undefined;
      last = undefined;
      if (face !== undefined) this.onPick(face);
    });
    this.canvas.addEventListener("pointercancel", () => (last = undefined));
    this.canvas.addEventListener("pointerleave", () => this.hover(undefined));
    this.canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.scale(event.deltaY < 0 ? 1.12 : 1 / 1.12);
    }, { passive: false });
    this.canvas.addEventListener("keydown", (event) => this.key(event));
  }

  private key(event: KeyboardEvent): void {
    const turns: Record<string, [number, number]> = {
      ArrowLeft: [0.12, 0],
      ArrowRight: [-0.12, 0],
      ArrowUp: [0, -0.12],
      ArrowDown: [0, 0.12],
    };
    const by = turns[event.key];
    if (by) this.rotate(...by);
    else if (event.key === "+" || event.key === "=") this.scale(1.15);
    else if (event.key === "-") this.scale(1 / 1.15);
    else return;
    event.preventDefault();
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

  private hover(face: number | undefined): void {
    if (face === this.hovered) return;
    this.hovered = face;
    this.paint();
    this.onHover(face);
  }
}

/** A point in the middle of each face's triangles, where its tag stands, and the way it faces. */
function middles(data: MeshData): [Map<number, Vector3>, Map<number, Vector3>] {
  const at = new Map<number, Vector3>();
  const normals = new Map<number, Vector3>();
  const areas = new Map<number, number>();
  const corner = (i: number): Vector3 => new Vector3().fromArray(data.points_mm, 3 * (data.corners[i] ?? 0));
  data.owner.forEach((face, t) => {
    const [a, b, c] = [corner(3 * t), corner(3 * t + 1), corner(3 * t + 2)];
    const cross = b.clone().sub(a).cross(c.clone().sub(a));
    const area = cross.length();
    areas.set(face, (areas.get(face) ?? 0) + area);
    normals.set(face, (normals.get(face) ?? new Vector3()).add(cross));
    at.set(face, (at.get(face) ?? new Vector3()).addScaledVector(a.add(b).add(c), area / 3));
  });
  for (const [face, sum] of at) sum.divideScalar(areas.get(face) || 1);
  for (const normal of normals.values()) normal.normalize();
  return [at, normals];
}
