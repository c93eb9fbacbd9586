// SPDX-License-Identifier: GPL-3.0-or-later
// The castings of one foam and mix beside the fit through them (tally/fit_chart).
import { useContext } from "preact/hooks";
import { Units } from "../../pour_sheet/src/parts";
import { KG_M3_PER_LB_FT3, general } from "../../pour_sheet/src/told";

interface BandPoint {
  x_per_m: number;
  density_kg_m3: number;
  plus_minus_kg_m3: number;
}

export interface Chart {
  points: { number: number; x_per_m: number; density_kg_m3: number; in_fit: boolean; outside: boolean }[];
  band: BandPoint[];
  band_of_others: BandPoint[]; // without those outside, where there are such
  band_volume_mm3: number;
}

const WIDE = 720;
const HIGH = 380;
const LEFT = 62;
const RIGHT = 16;
const TOP = 14;
const BOTTOM = 52;

// About `count` round steps between the ends.
function ticks(low: number, high: number, count: number): number[] {
  const raw = (high - low) / count;
  const unit = 10 ** Math.floor(Math.log10(raw));
  const step = unit * (raw / unit < 1.5 ? 1 : raw / unit < 3.5 ? 2 : raw / unit < 7.5 ? 5 : 10);
  const all: number[] = [];
  for (let i = Math.ceil(low / step); i * step <= high * (1 + 1e-12); ++i) all.push(i * step);
  return all;
}

// The volume within 1 mm of the surface is S(1 mm) = x * 1 mm * V: x per meter is so many thousandths.
const percent = (x_per_m: number) => x_per_m / 10;

export function outsiders(chart: Chart): number[] {
  return chart.points.filter((point) => point.outside).map((point) => point.number);
}

// Where each number finds room: right of its point, else left of it, else nowhere.
function labelled(points: { number: number; x: number; y: number; must: boolean }[]): Map<number, { x: number; y: number; anchor: "start" | "end" }> {
  const taken: { x: number; y: number }[] = [];
  const at = new Map<number, { x: number; y: number; anchor: "start" | "end" }>();
  for (const point of [...points].sort((a, b) => Number(b.must) - Number(a.must))) {
    const sides = [{ x: point.x + 9, y: point.y - 5, anchor: "start" as const }, { x: point.x - 9, y: point.y - 5, anchor: "end" as const }];
    const free = sides.find((side) => taken.every((other) => Math.abs(other.x - side.x) > 24 || Math.abs(other.y - side.y) > 13)) ?? (point.must ? sides[0] : undefined);
    if (!free) continue;
    taken.push(free);
    at.set(point.number, free);
  }
  return at;
}

export function CastingsChart({ chart, name }: { chart: Chart; name: string }) {
  const us = useContext(Units) === "us";
  const y_of = (density: number) => (us ? density / KG_M3_PER_LB_FT3 : density);
  // The band that leaves the outsiders outside; the line is the one in use.
  const band = chart.band_of_others.length > 0 ? chart.band_of_others : chart.band;
  const xs = [...chart.points, ...chart.band].map((point) => percent(point.x_per_m));
  // Two castings' band may be as wide as the world; the points must stay readable.
  const points_high = Math.max(...chart.points.map((point) => y_of(point.density_kg_m3)));
  const band_high = Math.max(0, ...band.map((point) => y_of(point.density_kg_m3 + point.plus_minus_kg_m3)));
  const points_low = Math.min(...chart.points.map((point) => y_of(point.density_kg_m3)));
  const band_low = Math.min(Number.POSITIVE_INFINITY, ...band.map((point) => y_of(point.density_kg_m3 - point.plus_minus_kg_m3)));
  const high = Math.max(1.05 * points_high, Math.min(band_high, 2 * points_high));
  const low = Math.max(0, Math.min(0.95 * points_low, band_low));
  const pad = xs.length > 0 && Math.max(...xs) > Math.min(...xs) ? 0 : 1;
  const left = Math.max(0, Math.min(...xs) - pad);
  const right = Math.max(...xs) + pad;
  const px = (x: number) => LEFT + ((x - left) / (right - left)) * (WIDE - LEFT - RIGHT);
  const py = (y: number) => TOP + ((high - Math.min(high, Math.max(low, y))) / (high - low)) * (HIGH - TOP - BOTTOM);
  const path = (of: (point: Chart["band"][number]) => number, points = chart.band) => points.map((point) => `${px(percent(point.x_per_m)).toFixed(1)},${py(y_of(of(point))).toFixed(1)}`).join(" ");
  const upper = path((point) => point.density_kg_m3 + point.plus_minus_kg_m3, band);
  const lower = path((point) => point.density_kg_m3 - point.plus_minus_kg_m3, [...band].reverse());
  const outside = outsiders(chart);
  const labels = labelled(chart.points.map((point) => ({ number: point.number, x: px(percent(point.x_per_m)), y: py(y_of(point.density_kg_m3)), must: point.outside })));
  const label = `Castings of ${name}: mass of each liter against the share within 1 mm of the surface. ${chart.points.length} castings; ${outside.length > 0 ? `outside: ${outside.join(", ")}` : "none outside"}.`;
  return (
    <svg class="castings-chart" viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label={label}>
      {band.length > 0 && <polygon class="band" points={`${upper} ${lower}`} />}
      {ticks(left, right, 6).map((x) => (
        <g key={`x${x}`}>
          <line class="tick" x1={px(x)} x2={px(x)} y1={TOP} y2={HIGH - BOTTOM} />
          <text x={px(x)} y={HIGH - BOTTOM + 17} text-anchor="middle">{general(x, 4)}</text>
        </g>
      ))}
      {ticks(low, high, 5).map((y) => (
        <g key={`y${y}`}>
          <line class="tick" x1={LEFT} x2={WIDE - RIGHT} y1={py(y)} y2={py(y)} />
          <text x={LEFT - 6} y={py(y) + 4} text-anchor="end">{general(y, 4)}</text>
        </g>
      ))}
      <text x={(LEFT + WIDE - RIGHT) / 2} y={HIGH - 12} text-anchor="middle">part of the volume within 1 mm of the surface, %</text>
      <text transform={`translate(14 ${(TOP + HIGH - BOTTOM) / 2}) rotate(-90)`} text-anchor="middle">{us ? "mass by volume, lb/ft3" : "mass of each liter, g (kg/m3)"}</text>
      {chart.band.length > 0 && <polyline class="fit" points={path((point) => point.density_kg_m3)} />}
      {chart.points.map((point) => {
        const x = px(percent(point.x_per_m));
        const y = py(y_of(point.density_kg_m3));
        const label_at = labels.get(point.number);
        return (
          <g key={point.number} class={point.outside ? "outside" : point.in_fit ? "in" : "left-out"}>
            {point.outside ? <path d={`M${x - 8} ${y}l8 -8l8 8l-8 8z`} /> : <circle cx={x} cy={y} r={5} />}
            {label_at && <text x={label_at.x} y={label_at.y} text-anchor={label_at.anchor}>{point.number}</text>}
          </g>
        );
      })}
    </svg>
  );
}
