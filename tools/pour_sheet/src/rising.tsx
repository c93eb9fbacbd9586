// SPDX-License-Identifier: GPL-3.0-or-later
// The rise, played over the part: a slider over time, and what happens at the time it shows.
import { useContext, useLayoutEffect, useState } from "preact/hooks";
import type { SheetData, SheetRise, Told } from "made/sheet_types";
import { T, Units, bytesOf } from "./parts";
import { rendered } from "./told";

const PLAYED_S = 12; // the whole of it, about
const STILL_STEPS = 12; // for those who want no motion: so many pictures instead, one a second
const NEVER = 65535;

// When foam is at each vertex, in seconds; where it never is, far beyond all of them.
export function arrivals(rise: SheetRise): Float32Array {
  const steps = new Uint16Array(bytesOf(rise.arrival).buffer);
  return Float32Array.from(steps, (step) => (step === NEVER ? 1e9 : rise.from_s + (step / (NEVER - 1)) * (rise.to_s - rise.from_s)));
}

// Of the cavity, between the moments that were followed.
export function filledShare(data: SheetData, time_s: number): number {
  const moments = data.plan.rise?.moments ?? [];
  const next = moments.findIndex((moment) => moment.time_s >= time_s);
  const [a, b] = [moments[next - 1], moments[next]];
  if (!b) return moments[moments.length - 1]?.filled_share ?? 0;
  if (!a) return b.filled_share;
  const share = b.time_s > a.time_s ? (time_s - a.time_s) / (b.time_s - a.time_s) : 1;
  return a.filled_share + share * (b.filled_share - a.filled_share);
}

const percent = (share: number) => `${Math.floor(100 * share + 1e-6)} %`;

// What happened last.
function event(rise: SheetRise, time_s: number): Told {
  const before = rise.events.filter((one) => one.time_s <= time_s + 1e-6);
  return before[before.length - 1]?.text ?? ["it rises from where the liquid lay"];
}

interface RisingProps {
  data: SheetData;
  rise: SheetRise;
  time: number;
  moved: boolean; // the density is another one than it was followed for
  show: (time: number) => void;
}

export function Rising({ data, rise, time, moved, show }: RisingProps) {
  const span = rise.to_s - rise.from_s;
  const speed = Math.max(1, Math.round(span / PLAYED_S));
  const step = span > 40 ? 0.5 : 0.1;
  const system = useContext(Units);
  const [playing, setPlaying] = useState(false);
  // Before it is painted: what was stopped, or set by hand, must not move by one more picture.
  useLayoutEffect(() => {
    if (!playing) return;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const from = { clock: performance.now(), time };
    const next = (seconds: number) => {
      const at = Math.min(rise.to_s, from.time + seconds);
      show(at);
      if (at >= rise.to_s) setPlaying(false);
    };
    if (still) {
      let steps = 0;
      const timer = setInterval(() => next((++steps * span) / STILL_STEPS), 1000);
      return () => clearInterval(timer);
    }
    let frame = 0;
    const drawn = () => {
      next((speed * (performance.now() - from.clock)) / 1000);
      frame = requestAnimationFrame(drawn);
    };
    frame = requestAnimationFrame(drawn);
    return () => cancelAnimationFrame(frame);
  }, [playing]);
  const toggle = () => {
    if (!playing && time > rise.to_s - step) show(rise.from_s);
    setPlaying(!playing);
  };
  const now = event(rise, time);
  const filled = percent(filledShare(data, time));
  return (
    <fieldset class="rising">
      <legend>The foam rising{moved && ", as planned"}</legend>
      <div class="player">
        <button type="button" id="rise-play" aria-pressed={playing} onClick={toggle}>{playing ? "Pause" : "Play"}</button>
        <input
          type="range" id="rise-at" min={rise.from_s} max={rise.to_s} step={step} value={time}
          aria-label="Time from the start of stirring" aria-valuetext={`${time.toFixed(0)} seconds, ${filled} filled, ${rendered(now, system, true)}`}
          onInput={(event) => {
            setPlaying(false);
            // The slider's last step may lie a little before the end: it is the end.
            const at = event.currentTarget.valueAsNumber;
            show(at > rise.to_s - step ? rise.to_s : at);
          }}
          onKeyDown={(event) => {
            if (event.key !== " ") return;
            event.preventDefault();
            toggle();
          }}
        />
      </div>
      <p class="rise-now"><strong>{time.toFixed(0)} s</strong>, {filled} of the mold filled: <T of={now} />.</p>
      <p class="hint"><T of={rise.story} /> Time counts from the start of stirring{speed > 1 && `, played ${speed} times as fast`}. Arrow keys step, the space bar plays. L: filled last; air: cut off.</p>
    </fieldset>
  );
}
