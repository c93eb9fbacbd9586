// SPDX-License-Identifier: GPL-3.0-or-later
// All ways up at a glance: two half spheres, z of the part upward and downward, in Lambert's
// azimuthal equal-area projection, as the program's own map (report/sphere_map) has them. Dark is
// where most air stays.
import { useEffect, useRef } from "preact/hooks";
import type { PartModel, Place } from "made/sheet_types";
import { bytesOf } from "../../pour_sheet/src/parts";

const RADIUS = 100;
const GAP = 14;
const EDGE = 10;
const CELL = 2;
const WIDTH = 4 * RADIUS + GAP + 2 * EDGE;
const HEIGHT = 2 * RADIUS + 2 * EDGE + 6;
const MIDDLE_Y = EDGE + RADIUS;
const middleX = (half: number) => EDGE + RADIUS + half * (2 * RADIUS + GAP);

export interface Scanned {
  up: Place;
  stays_mm3: number;
}

export function scanned(model: PartModel): Scanned[] {
  const numbers = new Float32Array(bytesOf(model.map).buffer);
  return Array.from({ length: numbers.length / 4 }, (_, i) => {
    const [x = 0, y = 0, z = 0, stays_mm3 = 0] = numbers.subarray(4 * i, 4 * i + 4);
    return { up: [x, y, z] as Place, stays_mm3 };
  });
}

// r = R sqrt(1 - |z|) for a half sphere that fills its disk.
function onPaper([x, y, z]: Place): [number, number] {
  const length = Math.hypot(x, y, z) || 1;
  const across = Math.hypot(x, y);
  const r = RADIUS * Math.sqrt(Math.max(0, 1 - Math.abs(z) / length));
  const s = across > 0 ? r / across : 0;
  return [middleX(z >= 0 ? 0 : 1) + s * x, MIDDLE_Y - s * y];
}

function onSphere(x: number, y: number): Place | null {
  const half = x > EDGE + 2 * RADIUS + GAP / 2 ? 1 : 0;
  const [u, v] = [x - middleX(half), MIDDLE_Y - y];
  const out = Math.hypot(u, v) / RADIUS;
  if (out > 1.12) return null;
  // A click on the rim means the rim.
  const share = Math.min(1, out) ** 2;
  const s = (Math.sqrt(1 + (1 - share)) / RADIUS) * (out > 1 ? 1 / out : 1);
  return [s * u, s * v, half === 0 ? 1 - share : share - 1];
}

function valueAt(flat: Float32Array, [x, y, z]: Place): number {
  let nearest = -2;
  let value = 0;
  for (let i = 0; i < flat.length; i += 4) {
    const cosine = (flat[i] as number) * x + (flat[i + 1] as number) * y + (flat[i + 2] as number) * z;
    if (cosine > nearest) [nearest, value] = [cosine, flat[i + 3] as number];
  }
  return value;
}

function Disks({ ways, colors }: { ways: Scanned[]; colors: number[] }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const to = canvas.current;
    const context = to?.getContext("2d");
    if (!to || !context) return;
    const scale = 2;
    [to.width, to.height] = [scale * WIDTH, scale * HEIGHT];
    context.scale(scale, scale);
    const sorted = ways.map((way) => way.stays_mm3).sort((a, b) => a - b);
    const end = sorted[Math.floor(((sorted.length - 1) * 98) / 100)] || sorted[sorted.length - 1] || 1e-9;
    // Each place has the color of the direction of the search that lies nearest to it.
    const flat = new Float32Array(ways.flatMap((way) => [...way.up, way.stays_mm3]));
    for (const half of [0, 1]) {
      context.save();
      context.beginPath();
      context.arc(middleX(half), MIDDLE_Y, RADIUS, 0, 2 * Math.PI);
      context.clip();
      for (let y = EDGE; y < EDGE + 2 * RADIUS; y += CELL) {
        for (let x = middleX(half) - RADIUS; x < middleX(half) + RADIUS; x += CELL) {
          const up = onSphere(x + CELL / 2, y + CELL / 2);
          if (!up) continue;
          const rgb = colors[Math.round(255 * (1 - Math.min(1, valueAt(flat, up) / end)))] ?? 0;
          context.fillStyle = `#${rgb.toString(16).padStart(6, "0")}`;
          context.fillRect(x, y, CELL, CELL);
        }
      }
      context.restore();
    }
  }, [ways]);
  return <canvas ref={canvas} aria-hidden="true" />;
}

function star(x: number, y: number): string {
  return Array.from({ length: 10 }, (_, i) => {
    const r = i % 2 === 0 ? 9 : 4;
    const angle = (i * Math.PI) / 5;
    return `${(x + r * Math.sin(angle)).toFixed(1)},${(y - r * Math.cos(angle)).toFixed(1)}`;
  }).join(" ");
}

export function WayMap({ model, ways, up, go }: { model: PartModel; ways: Scanned[]; up: Place; go: (up: Place) => void }) {
  const [x, y] = onPaper(up);
  return (
    <div class="way-map">
      <Disks ways={ways} colors={model.display.color_map} />
      <svg
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img"
        aria-label="Map of all ways up, dark where most air stays; a ring shows how the part stands now, a star what is planned. The ranked ways up are buttons below."
        onClick={(event) => {
          const box = event.currentTarget.getBoundingClientRect();
          const to = onSphere(((event.clientX - box.left) / box.width) * WIDTH, ((event.clientY - box.top) / box.height) * HEIGHT);
          if (to) go(to);
        }}
      >
        {[0, 1].map((half) => <circle key={half} class="rim" cx={middleX(half)} cy={MIDDLE_Y} r={RADIUS} />)}
        {model.ways.map((way) => {
          const [cx, cy] = onPaper(way.up);
          return way.planned ? <polygon key={way.rank} class="planned-way" points={star(cx, cy)} /> : <circle key={way.rank} class="ranked" cx={cx} cy={cy} r={3.5} />;
        })}
        <circle class="here" cx={x} cy={y} r={7} />
        <circle class="here inner" cx={x} cy={y} r={7} />
        <text x={middleX(0) - RADIUS} y={HEIGHT - 4}>+z up</text>
        <text x={middleX(1) + RADIUS} y={HEIGHT - 4} text-anchor="end">{"\u2212z up"}</text>
      </svg>
    </div>
  );
}

const cosine = (a: Place, b: Place) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

// From one direction of the map to a better neighbor, and on, until none is better: where one comes
// by, the last first best of all around. Empty: none next to it is better.
export function downhill(ways: Scanned[], from: Place): Place[] {
  const nearest = ways.reduce((best, way) => (cosine(way.up, from) > cosine(best.up, from) ? way : best), ways[0] as Scanned);
  const path: Place[] = [];
  const near = Math.cos((10 * Math.PI) / 180); // the map has a direction each 4.5 degrees
  for (let at = nearest; ; ) {
    const next = ways.reduce((best, way) => (way.stays_mm3 < best.stays_mm3 && cosine(way.up, at.up) > near ? way : best), at);
    if (next === at) return path;
    path.push(next.up);
    at = next;
  }
}
