// SPDX-License-Identifier: GPL-3.0-or-later
// Is it as large as it should be? The part's box beside a hand, and what other units would make of it.
import { useState } from "preact/hooks";
import { Panel, T } from "../../pour_sheet/src/parts";
import { pair, told } from "../../pour_sheet/src/told";
import { type PartState, type PlanJson, Refused, change } from "./api";

// From the wrist's crease to the middle finger's tip, and the breadth of a grown-up's palm; common
// practice, no source.
const HAND_MM = 185;
const PALM_MM = 85;

// Units that people draw in, and how long a part to cast by hand may be: as the program's own
// question for the unit (plan/prepare).
const UNITS: [string, number][] = [["mm", 1], ["cm", 10], ["m", 1000], ["in", 25.4], ["ft", 304.8]];
const LEAST_MM = 10;
const MOST_MM = 3000;

// Four fingers and a thumb over a palm, in mm, its lower left corner at 0,0 and up negative.
function Hand({ x }: { x: number }) {
  const finger = (left: number, length: number) => <rect x={left} y={-100 - length} width={17} height={length + 20} rx={8.5} />;
  return (
    <g transform={`translate(${x} 0)`} class="hand">
      <rect x={8} y={-108} width={PALM_MM - 8} height={108} rx={18} />
      {finger(10, 68)}
      {finger(29, 77)}
      {finger(48, HAND_MM - 108)}
      {finger(66, 57)}
      <rect x={-8} y={-98} width={18} height={70} rx={9} transform="rotate(-24 0 -40)" />
    </g>
  );
}

function Scale({ width, height }: { width: number; height: number }) {
  const gap = 0.12 * Math.max(width, PALM_MM);
  const whole = width + gap + PALM_MM + 40;
  const tall = Math.max(height, HAND_MM);
  const line = 0.006 * Math.max(whole, tall);
  return (
    <svg class="scale" viewBox={`${-line} ${-tall - line} ${whole + 2 * line} ${tall + 2 * line}`} role="img" aria-label="The part's box from the front, beside a hand 185 mm long">
      <rect class="box-of-part" x={0} y={-height} width={width} height={height} stroke-width={line} />
      <Hand x={width + gap + 30} />
    </svg>
  );
}

export function Size({ part, plan, stale }: { part: PartState; plan: PlanJson; stale: boolean }) {
  const [longest, setLongest] = useState("");
  const [wrong, setWrong] = useState("");
  const { measures, input } = plan;
  const size = measures.bounds_max_mm.map((most, i) => most - (measures.bounds_min_mm[i] ?? 0));
  const [x = 0, y = 0, z = 0] = size;
  const long = Math.max(x, y, z);
  const raw = long / input.scale;
  const choices = UNITS.filter(([, mm]) => raw * mm >= LEAST_MM && raw * mm <= MOST_MM);
  const set = async (changes: Record<string, string[] | null>) => {
    try {
      await change(part.id, changes);
      setWrong("");
    } catch (error) {
      setWrong((error as Refused).message);
    }
  };
  return (
    <Panel title="Is it this large?" kind={stale ? "size stale" : "size"}>
      <p class="long"><T of={told`${pair(long, "length")} long`} /></p>
      <Scale width={x} height={z} />
      <p><T of={told`${pair(x, "length")} by ${pair(y, "length")} by ${pair(z, "length")} high, ${pair(measures.volume_mm3, "volume")}`} /></p>
      <div class="choices" role="group" aria-label="If the file's numbers are">
        {choices.map(([unit, mm]) => (
          <button
            type="button" key={unit} aria-pressed={input.units === unit && input.units_source !== "longest"}
            onClick={() => set({ units: [unit], longest: null })}
          >
            in {unit}: <T of={told`${pair(raw * mm, "length")} long`} />
          </button>
        ))}
      </div>
      <form
        class="longest"
        onSubmit={(event) => {
          event.preventDefault();
          set({ longest: longest.trim() === "" ? null : [longest.trim()], units: null, scale: null });
        }}
      >
        <label for="longest">or its longest side is</label>
        <input id="longest" value={longest} placeholder="355mm" onInput={(event) => setLongest(event.currentTarget.value)} />
        <button type="submit">Scale it</button>
      </form>
      <p class="wrong" role="alert">{wrong}</p>
      {input.units_source === "assumed" && <p class="hint">The file names no unit; millimeters are assumed until you choose.</p>}
    </Panel>
  );
}
