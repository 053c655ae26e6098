// A mesh as the server sends it, and the edges of its faces.

import { BufferAttribute, BufferGeometry } from "three";

export interface MeshData {
  points_mm: number[];
  corners: number[];
  owner: number[];
}

/** Ends of the faces' edges, two points each: sides that no other triangle of the same face shares. */
export function ends(data: MeshData): number[] {
  const seen = new Map<string, [number, number]>();
  for (let i = 0; i < data.corners.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      const a = data.corners[i + k] ?? 0;
      const b = data.corners[i + ((k + 1) % 3)] ?? 0;
      const name = a < b ? `${a} ${b}` : `${b} ${a}`;
      if (!seen.delete(name)) seen.set(name, [a, b]);
    }
  }
  return [...seen.values()].flat();
}

/** Edges of the faces as lines. */
export function border(data: MeshData): BufferGeometry {
  const points = ends(data).flatMap((p) => data.points_mm.slice(3 * p, 3 * p + 3));
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(points), 3));
  return geometry;
}
