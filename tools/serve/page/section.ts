// SPDX-License-Identifier: GPL-3.0-or-later
// A cut through the part: what of a plane lies inside it, and how deep below the surface each place
// of it is, so that skin and core can be shown. Depth is the true distance in space, not the one
// in the plane, which is longer wherever the surface is cut at a slant.
export interface Layers {
  profile: "step" | "exponential";
  thickness_mm: number; // of a step; else the decay length
  skin_kg_m3: number;
  core_kg_m3: number;
}

// As the library's density_at_kg_m3 (foam/density_map).
export function densityAt(foam: Layers, depth_mm: number): number {
  const more = foam.skin_kg_m3 - foam.core_kg_m3;
  if (!(foam.thickness_mm > 0)) return foam.core_kg_m3;
  const share = foam.profile === "step" ? (depth_mm < foam.thickness_mm ? 1 : 0) : Math.exp(-depth_mm / foam.thickness_mm);
  return foam.core_kg_m3 + more * share;
}

// No deeper than this does the density change by what an eye sees.
export function feltTo(foam: Layers): number {
  return foam.profile === "step" ? foam.thickness_mm : 5 * foam.thickness_mm;
}

export interface Section {
  across: number; // pixels
  down: number;
  pixel_mm: number;
  low: [number, number]; // the lower corner, in the plane
  depth_mm: Float32Array; // row by row from there; below 0: outside
}

type Triple = [number, number, number];

const minus = (a: Triple, b: Triple): Triple => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Triple, b: Triple) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

// Squared distance from the place (x, y, 0) to a triangle: Ericson, Real-Time Collision Detection
// (2005), 5.1.5, by the regions of corners, edges and face.
function squaredDistance(x: number, y: number, a: Triple, b: Triple, c: Triple): number {
  const p: Triple = [x, y, 0];
  const ab = minus(b, a);
  const ac = minus(c, a);
  const ap = minus(p, a);
  const d1 = dot(ab, ap);
  const d2 = dot(ac, ap);
  if (d1 <= 0 && d2 <= 0) return dot(ap, ap);
  const bp = minus(p, b);
  const d3 = dot(ab, bp);
  const d4 = dot(ac, bp);
  if (d3 >= 0 && d4 <= d3) return dot(bp, bp);
  const along = (from: Triple, way: Triple, share: number) => {
    const r = minus(from, [share * way[0], share * way[1], share * way[2]]);
    return dot(r, r);
  };
  const vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return along(ap, ab, d1 / (d1 - d3));
  const cp = minus(p, c);
  const d5 = dot(ab, cp);
  const d6 = dot(ac, cp);
  if (d6 >= 0 && d5 <= d6) return dot(cp, cp);
  const vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return along(ap, ac, d2 / (d2 - d6));
  const va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 >= d3 && d5 >= d6) return along(bp, minus(c, b), (d4 - d3) / (d4 - d3 + (d5 - d6)));
  const whole = va + vb + vc;
  return along(along3(ap, ab, vb / whole), ac, vc / whole);
}

function along3(from: Triple, way: Triple, share: number): Triple {
  return [from[0] - share * way[0], from[1] - share * way[1], from[2] - share * way[2]];
}

// Whether each place lies inside: crossings of each row with the surface, by their turns.
function filled(places: Float32Array, index: ArrayLike<number>, into: Section): void {
  const rows: { at: number; turn: number }[][] = Array.from({ length: into.down }, () => []);
  const rowOf = (y: number) => (y - into.low[1]) / into.pixel_mm - 0.5;
  for (let t = 0; t < index.length; t += 3) {
    const w = [0, 1, 2].map((k) => places[3 * (index[t + k] as number) + 2] as number);
    const over = w.map((one) => one >= 0);
    if (over[0] === over[1] && over[1] === over[2]) continue;
    // Where the plane enters and leaves the triangle, in its own order.
    let from: [number, number] | null = null;
    let to: [number, number] | null = null;
    for (let k = 0; k < 3; ++k) {
      const n = (k + 1) % 3;
      if (over[k] === over[n]) continue;
      const [i, j] = [3 * (index[t + k] as number), 3 * (index[t + n] as number)];
      const share = (w[k] as number) / ((w[k] as number) - (w[n] as number));
      const at: [number, number] = [0, 1].map((c) => (places[i + c] as number) + share * ((places[j + c] as number) - (places[i + c] as number))) as [number, number];
      if (over[k]) from = at;
      else to = at;
    }
    if (!from || !to) continue;
    const [r0, r1] = [rowOf(from[1]), rowOf(to[1])];
    const turn = r1 > r0 ? 1 : -1;
    const last = Math.min(into.down - 1, Math.ceil(Math.max(r0, r1)) - 1);
    for (let row = Math.max(0, Math.ceil(Math.min(r0, r1))); row <= last; ++row) {
      const share = (row - r0) / (r1 - r0);
      rows[row]?.push({ at: (from[0] + share * (to[0] - from[0]) - into.low[0]) / into.pixel_mm - 0.5, turn });
    }
  }
  for (const [row, crossings] of rows.entries()) {
    crossings.sort((a, b) => a.at - b.at);
    let turns = 0;
    for (const [i, crossing] of crossings.entries()) {
      turns += crossing.turn;
      const next = crossings[i + 1];
      if (turns === 0 || !next) continue;
      const last = Math.min(into.across - 1, Math.ceil(next.at) - 1);
      for (let x = Math.max(0, Math.ceil(crossing.at)); x <= last; ++x) into.depth_mm[row * into.across + x] = Infinity;
    }
  }
}

// `places`: the surface's vertices as (along u, along v, above the plane). No depth is told beyond
// `deepest_mm`. O(triangles + those near the plane times their pixels).
export function section(places: Float32Array, index: ArrayLike<number>, deepest_mm: number, pixels: number): Section {
  const low: [number, number] = [Infinity, Infinity];
  const high: [number, number] = [-Infinity, -Infinity];
  for (let i = 0; i < places.length; i += 3) {
    for (const c of [0, 1] as const) {
      low[c] = Math.min(low[c], places[i + c] as number);
      high[c] = Math.max(high[c], places[i + c] as number);
    }
  }
  const pixel_mm = Math.max(high[0] - low[0], high[1] - low[1], 1e-6) / pixels;
  const across = Math.max(1, Math.ceil((high[0] - low[0]) / pixel_mm));
  const down = Math.max(1, Math.ceil((high[1] - low[1]) / pixel_mm));
  const cut: Section = { across, down, pixel_mm, low, depth_mm: new Float32Array(across * down).fill(-1) };
  filled(places, index, cut);
  const squared = new Float32Array(across * down).fill(deepest_mm * deepest_mm);
  const corner = (i: number): Triple => [places[3 * i] as number, places[3 * i + 1] as number, places[3 * i + 2] as number];
  for (let t = 0; t < index.length; t += 3) {
    const [a, b, c] = [corner(index[t] as number), corner(index[t + 1] as number), corner(index[t + 2] as number)];
    if (Math.min(a[2], b[2], c[2]) > deepest_mm || Math.max(a[2], b[2], c[2]) < -deepest_mm) continue;
    const span = (k: 0 | 1, count: number) => {
      const first = (Math.min(a[k], b[k], c[k]) - deepest_mm - low[k]) / pixel_mm - 0.5;
      const last = (Math.max(a[k], b[k], c[k]) + deepest_mm - low[k]) / pixel_mm - 0.5;
      return [Math.max(0, Math.ceil(first)), Math.min(count - 1, Math.floor(last))] as const;
    };
    const [x0, x1] = span(0, across);
    const [y0, y1] = span(1, down);
    for (let y = y0; y <= y1; ++y) {
      for (let x = x0; x <= x1; ++x) {
        const at = y * across + x;
        if (cut.depth_mm[at] !== Infinity) continue;
        const found = squaredDistance(low[0] + (x + 0.5) * pixel_mm, low[1] + (y + 0.5) * pixel_mm, a, b, c);
        if (found < (squared[at] as number)) squared[at] = found;
      }
    }
  }
  for (let at = 0; at < squared.length; ++at) {
    if (cut.depth_mm[at] === Infinity) cut.depth_mm[at] = Math.sqrt(squared[at] as number);
  }
  return cut;
}
