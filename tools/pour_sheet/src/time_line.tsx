// SPDX-License-Identifier: GPL-3.0-or-later
// The clock: what to do from when to when, by when at the latest, what the foam does meanwhile; and
// the same running, to pour by.
import { useEffect, useRef, useState } from "preact/hooks";
import type { BenchFigures, SheetData } from "made/sheet_types";
import type { Clock } from "./clock";
import { holeWords } from "./clock_notices";
import type { Figures } from "./figures";
import { T } from "./parts";
import { own, pair, significant, told } from "./told";
import { type Moment, downTo, methodWords, minutes, openWords, spareWords, timeLine } from "./words";

// One line's stretch of time, with its deadline as a gate.
function Track({ moment, whole }: { moment: Moment; whole: number }) {
  const at = (s: number) => `${(100 * s) / whole}%`;
  const { step } = moment;
  return (
    <div class="track" aria-hidden="true">
      <div class={step ? (moment.late ? "piece over" : "piece") : "event"} style={step ? { left: at(moment.at_s), width: at(step.seconds) } : { left: at(moment.at_s) }} />
      {step?.deadline && <div class="gate" style={{ left: at(step.by_s) }} />}
    </div>
  );
}

// ---- running ------------------------------------------------------------------------------------

const BEEP_S = 0.25;

// Keeps the screen awake, where the browser can; lost when the page is hidden, so asked for again.
async function wakeLock(): Promise<WakeLockSentinel | null> {
  try {
    return await navigator.wakeLock.request("screen");
  } catch {
    return null;
  }
}

interface Ticking {
  seconds: number | null; // null: not started
  start: () => void;
  stop: () => void;
  sound: boolean;
  setSound: (on: boolean) => void;
}

function useTicking(beeps: number[]): Ticking {
  const [began, setBegan] = useState<number | null>(null);
  const [now, setNow] = useState(0);
  const [sound, setSound] = useState(true);
  const audio = useRef<AudioContext | null>(null);
  const told = useRef(-Infinity); // up to when all beeps have sounded
  const seconds = began === null ? null : Math.max(0, (now - began) / 1000);

  useEffect(() => {
    if (began === null) return;
    const ticks = setInterval(() => setNow(Date.now()), 100);
    let lock: WakeLockSentinel | null = null;
    const ask = async () => {
      if (document.visibilityState === "visible") lock = await wakeLock();
    };
    void ask();
    document.addEventListener("visibilitychange", ask);
    return () => {
      clearInterval(ticks);
      document.removeEventListener("visibilitychange", ask);
      void lock?.release();
    };
  }, [began]);

  useEffect(() => {
    if (seconds === null) return;
    const due = beeps.some((at) => at > told.current && at <= seconds);
    told.current = seconds;
    const context = audio.current;
    if (!due || !sound || !context) return;
    const tone = context.createOscillator();
    tone.frequency.value = 880;
    tone.connect(context.destination);
    tone.start();
    tone.stop(context.currentTime + BEEP_S);
  });

  return {
    seconds,
    start: () => {
      // Browsers let a page sound only after a click; this is one.
      audio.current ??= new AudioContext();
      told.current = 0;
      setBegan(Date.now());
      setNow(Date.now());
    },
    stop: () => setBegan(null),
    sound,
    setSound,
  };
}

// What to do at a moment: the step that is on, or the one to come.
function doing(moments: Moment[], seconds: number, clock: Clock) {
  const steps = moments.filter((moment) => moment.step);
  const on = steps.find(({ step }) => step && seconds >= step.start_s && seconds < step.end_s);
  const next = steps.find(({ step }) => step && step.start_s > seconds);
  const late = [...steps].reverse().find(({ step }) => step?.deadline && seconds >= step.by_s && seconds < step.end_s);
  const what = on?.what ?? (seconds < clock.demold_min_s ? "leave it closed" : "open it, if the leftover in the cup is firm");
  const then = next ? `then ${next.what}, at ${downTo(next.at_s)} s` : seconds < clock.demold_min_s ? `open after ${minutes(clock.demold_min_s)} min` : "";
  return { what, then, by: on?.by ?? "", late: Boolean(late) };
}

function Running({ moments, clock, ticking }: { moments: Moment[]; clock: Clock; ticking: Ticking }) {
  const { seconds, sound } = ticking;
  const now = seconds === null ? null : doing(moments, seconds, clock);
  return (
    <div class={`running ${now ? "on" : ""} ${now?.late ? "late" : ""}`} role="group" aria-label="Running clock">
      <span class="seconds" role="timer">{seconds === null ? "0" : Math.floor(seconds)}<span class="unit">s</span></span>
      <p class="do" aria-live="assertive">
        <strong>{now ? now.what : "Start it with the first stir of A into B."}</strong> {now?.by}{now?.late ? " TOO LATE" : ""}
        <span class="then">{now?.then}</span>
      </p>
      <p class="buttons">
        <button type="button" id="clock-start" onClick={ticking.start}>{now ? "Start again" : "Start the clock"}</button>
        <button type="button" id="clock-stop" disabled={!now} onClick={ticking.stop}>Stop</button>
        <span class="choice"><input type="checkbox" id="clock-sound" checked={sound} onChange={(event) => ticking.setSound(event.currentTarget.checked)} /><label for="clock-sound">beep at each step and deadline</label></span>
      </p>
    </div>
  );
}

// ---- the panel ----------------------------------------------------------------------------------

function Line({ moment, whole, seconds }: { moment: Moment; whole: number; seconds: number | null }) {
  const on = seconds !== null && moment.step !== null && seconds >= moment.at_s && seconds < moment.step.end_s;
  const past = seconds !== null && seconds >= (moment.step?.end_s ?? moment.at_s);
  return (
    <li class={`${moment.step ? "step" : "foam"} ${on ? "on" : ""} ${past ? "past" : ""}`} aria-current={on ? "step" : undefined}>
      <span class="when">{moment.clock}</span>
      <span class="doing">{moment.what}</span>
      {moment.by && <span class="by">{moment.by}</span>}
      {moment.late && <strong class="late">{moment.late}</strong>}
      <Track moment={moment} whole={whole} />
    </li>
  );
}

export function TimeLine({ data, figures, clock, bench, stale }: { data: SheetData; figures: Figures; clock: Clock; bench: BenchFigures; stale: boolean }) {
  const moments = timeLine(figures);
  const whole = Math.max(...moments.map((m) => Math.max(m.at_s, m.step?.end_s ?? 0, m.step?.by_s ?? 0))) * 1.02;
  const beeps = moments.flatMap((m) => (m.step ? [m.at_s, m.step.end_s, ...(m.step.deadline ? [m.step.by_s] : [])] : [m.at_s])).concat(clock.demold_min_s);
  const ticking = useTicking(beeps);
  const late = clock.chosen.spare_s < 0;
  const pours = figures.stops.length === 0 && (!stale || ticking.seconds !== null);
  const others = clock.methods.filter((method) => method.method !== clock.chosen.method);
  return (
    <section class="panel" id="clock">
      <h2>Clock</h2>
      {stale && <p class="wrong">For the figures before the entry that is refused.</p>}
      {pours && <Running moments={moments} clock={clock} ticking={ticking} />}
      <p><T of={told`${significant(clock.work_time_s, 3)} s of work time at ${pair(figures.choice.temperature_c, "temperature")}, from the start of stirring.`} /></p>
      <p>Pour {methodWords(data, clock.chosen.method).words}.</p>
      <ol class="time-line">{moments.map((moment, i) => <Line key={i} moment={moment} whole={whole} seconds={ticking.seconds} />)}</ol>
      <p class={late ? "late" : "spare-line"}><strong>Spare: </strong>{spareWords(figures)}.</p>
      <p><strong>Open after </strong>{openWords(figures)}.</p>
      {clock.hole_needed_mm > 0 && bench.has_pour_hole && (
        <p>
          <T
            of={clock.chosen.method === "through_hole"
              ? told`Pour hole: any of ${holeWords(clock.hole_needed_mm)} or wider lets the liquid in on time; the times above are for ${own(bench.pour_hole_mm, "length")}.`
              : told`Poured through a hole instead, any of ${holeWords(clock.hole_needed_mm)} or wider would let the liquid in on time.`}
          />
        </p>
      )}
      <p class="hint">The other ways:</p>
      <ul class="others">
        {others.map((one) => (
          <li key={one.method}>
            {methodWords(data, one.method).short_words}
            {one.why_not.length === 0 ? ` fits, with ${significant(one.spare_s, 2)} s to spare` : <> does not fit: <T of={one.why_not} /></>}
          </li>
        ))}
      </ul>
    </section>
  );
}
