// SPDX-License-Identifier: GPL-3.0-or-later
// Turn the part in the mold and see where air stays: by hand, on the map of all ways up, or by
// walking to the best nearby. What is tried here is planned only when the person says so.
import type { ComponentChildren } from "preact";
import { useContext, useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { Box3, type Vector3 } from "three";
import type { PartModel, Place, SheetMark, Told, TurnedAir } from "made/sheet_types";
import { Choice, Legend } from "../../pour_sheet/src/model";
import { Fact, Panel, T, Units } from "../../pour_sheet/src/parts";
import { drill, own, pair, rendered, told } from "../../pour_sheet/src/told";
import { vector } from "../../pour_sheet/src/viewer";
import { Asker, type Tried, airFor, directionText, placeText, question } from "./air";
import { type Known, type PartState, type Refused, change, json } from "./api";
import { LEAVES, STAYS, TurnViewer } from "./turn_viewer";
import { type Touch, listenTo } from "./touch";
import { WayMap, downhill, scanned } from "./way_map";

const CUTS: [number, string][] = [[-1, "whole"], [0, "across x"], [1, "across y"], [2, "across z"]];
const TOUCHES: [Touch, string][] = [["turn", "turns it"], ["pour-hole", "places the pour hole"], ["vent", "places a vent"], ["show", "paints the show side"], ["ruler", "measures"]];
const STEPS_DEG = [4, 2, 1]; // of the last search around a direction, by the part itself
const WALK_MS = 350;
const SETTLED_MS = 700;

const css = (rgb: number) => `#${rgb.toString(16).padStart(6, "0")}`;
const same = (a: Place, b: Place) => directionText(a) === directionText(b);
const angle = (a: Place, b: Place) => (180 / Math.PI) * vector(a).angleTo(vector(b));

// The holes as the viewer marks them, and the air that stays by its volume.
function marksOf(air: TurnedAir, volume: (mm3: number) => string): SheetMark[] {
  const plain = { plugged: false, where: [], frees: [], after: [], after_unused: [] };
  const holes: SheetMark[] = air.openings.filter((one) => one.kind === "pour_hole").map((one) => ({ ...plain, kind: "pour_hole", label: "P", at_mm: one.at_mm, diameter_mm: air.pour_hole_mm }));
  const vents: SheetMark[] = air.vents.map((one, i) => ({ ...plain, kind: "vent", label: String(i + 1), at_mm: one.at_mm, diameter_mm: one.diameter_mm }));
  const pockets: SheetMark[] = air.left.filter((one) => one.inside_pocket < 0).slice(0, 8).map((one) => ({ ...plain, kind: "air", label: volume(one.volume_mm3), at_mm: one.peak_mm, diameter_mm: 0 }));
  return [...holes, ...vents, ...pockets];
}

// A show side as the option says it: a box, or a direction and all that looks within 60 degrees of it
// (venting/show_side). In other units than mm it is not drawn.
function seenBy(text: string | undefined): { inside: (at: Vector3, normal: Vector3) => boolean; box: Box3 | null } | null {
  if (!text) return null;
  const axis = text.match(/^([+-]?)([xyz])$/i);
  const numbers = text.split(",").map(Number);
  if (axis || numbers.length === 3) {
    const toward = axis ? vector(["x", "y", "z"].map((name) => (name === (axis[2] as string).toLowerCase() ? (axis[1] === "-" ? -1 : 1) : 0)) as Place) : vector(numbers as Place);
    toward.normalize();
    return Number.isFinite(toward.x) ? { inside: (_, normal) => normal.dot(toward) >= 0.5, box: null } : null;
  }
  if (numbers.length !== 6 || !numbers.every(Number.isFinite)) return null;
  const box = new Box3(vector(numbers.slice(0, 3) as Place), vector(numbers.slice(3) as Place));
  return { inside: (at) => box.containsPoint(at), box };
}

// Less than a bubble that is filled by hand is not told to the digit.
function amount(mm3: number, air: TurnedAir, both = true): Told {
  const least = air.smallest_pocket_mm3;
  const value = both ? pair(Math.max(mm3, least), "volume") : own(Math.max(mm3, least), "volume");
  return mm3 < least ? told`less than ${value}` : told`${value}`;
}

function Figures({ air, old }: { air: TurnedAir | null; old: boolean }) {
  const [heard, setHeard] = useState("");
  const system = useContext(Units);
  const vents = air?.vents.length ?? 0;
  const holes = vents === 0 ? "no vent" : `${vents} ${vents === 1 ? "vent" : "vents"}`;
  // Read aloud once it stands still.
  useEffect(() => {
    const timer = setTimeout(() => air && setHeard(rendered([...amount(air.trapped_vented_mm3, air, false), ` of air stays with ${holes}`], system, true)), SETTLED_MS);
    return () => clearTimeout(timer);
  }, [air, system]);
  if (!air) return <p class="hint">Being computed ...</p>;
  return (
    <div class={old ? "live old" : "live"}>
      <p class={air.trapped_vented_mm3 < air.smallest_pocket_mm3 ? "stays little" : "stays"}><T of={amount(air.trapped_vented_mm3, air)} /></p>
      <p class="what">of air stays with {holes}{air.no_opening && vents === 0 ? ": nothing lets any out" : ""}</p>
      <dl class="rows">
        {air.trapped_vented_mm3 >= air.smallest_pocket_mm3 && <Fact name="Pressed"><T of={told`to ${pair(air.squeezed_mm3, "volume")} by the foam; ${pair(air.squeezed_g, "mass")} of foam is missing there`} /></Fact>}
        {vents > 0 && <Fact name="No vent"><T of={[...amount(air.trapped_unvented_mm3, air), " stays"]} /></Fact>}
        {air.openings.filter((one) => one.kind === "pour_hole").map((one, i) => <Fact key={`p${i}`} name={i === 0 ? "P" : ""}>{`${one.where}${one.given ? "; as you placed it" : ""}`}</Fact>)}
        {air.vents.map((one, i) => <Fact key={i} name={`Vent ${i + 1}`}><T of={told`${drill(one.diameter_mm)}, ${one.where}${one.given ? "; as you placed it" : ""}`} /></Fact>)}
      </dl>
      <p class="aloud" role="status">{heard}</p>
    </div>
  );
}

interface TurnProps {
  part: PartState;
  planned: Known;
}

export function Turn({ part, planned }: TurnProps) {
  const [model, setModel] = useState<PartModel | null>(null);
  const [wrong, setWrong] = useState("");
  useEffect(() => {
    let wanted = true;
    json<PartModel>(`/api/parts/${part.id}/model.json`).then((next) => wanted && setModel(next), () => {});
    return () => {
      wanted = false;
    };
  }, [part.id, planned.version]);
  if (!model) return null;
  const ready = planned.version === part.version && part.mode === "done";
  return (
    <Panel title="Turn it in the mold, and see where air stays" kind="turning">
      <Turning key={`${model.display.origin_mm} ${model.display.size_mm} ${model.display.triangles}`} part={part} planned={planned} model={model} ready={ready} wrong={setWrong} />
      <p class="wrong" role="alert">{wrong}</p>
    </Panel>
  );
}

function Turning({ part, planned, model, ready, wrong }: TurnProps & { model: PartModel; ready: boolean; wrong: (sentence: string) => void }) {
  const stage = useRef<HTMLDivElement>(null);
  const [viewer, setViewer] = useState<TurnViewer | null>(null);
  const [flat, setFlat] = useState(false);
  const [up, setUp] = useState<Place>(model.up);
  const [tried, setTried] = useState<Tried>({});
  const [air, setAir] = useState<{ asked: string; air: TurnedAir } | null>(null);
  const [leaving, setLeaving] = useState(true);
  const [touch, setTouch] = useState<Touch>("turn");
  const [exact, setExact] = useState(false);
  const [ruler, setRuler] = useState<Place[]>([]);
  const [axis, setAxis] = useState(-1);
  const [share, setShare] = useState(0.5);
  const [walked, setWalked] = useState("");
  const system = useContext(Units);
  const ways = useMemo(() => scanned(model), [model.map]);
  const coloring = model.display.colorings.find((one) => one.key === "density");
  const asked = question(up, tried);
  const old = air?.asked !== asked;

  // ---- the viewer and the answers ---------------------------------------------------------------
  const asker = useRef<Asker | null>(null);
  useLayoutEffect(() => {
    asker.current = new Asker(part.id, (question_, told_) => {
      setAir({ asked: question_, air: told_ });
      wrong("");
    }, wrong);
    let made: TurnViewer | null = null;
    try {
      made = new TurnViewer(stage.current as HTMLElement, model.display, "The part in the mold. Arrow keys turn it, with Shift in small steps; plus and minus zoom, Home goes back to the plan, Enter does to the middle what a click does.");
      made.turned = (now) => setUp(now);
      setViewer(made);
    } catch {
      setFlat(true);
    }
    return () => {
      asker.current?.leave();
      made?.dispose();
    };
  }, []);
  // It starts as it is planned, and stands so again when another way up is planned; a plan that
  // changes in something else does not move it.
  const stood = useRef<Place | null>(null);
  useEffect(() => {
    if (viewer) {
      viewer.home = [model.up, model.display.front];
      if (!stood.current || !(same(stood.current, model.up) || same(viewer.up, model.up))) viewer.startsAs(...viewer.home);
      stood.current = model.up;
    }
    // What is planned is tried no more.
    const planned_ = (name: string) => (part.options[name] ?? []).join("\n");
    setTried((all) => Object.fromEntries(Object.entries(all).filter(([name, texts]) => texts.join("\n") !== planned_(name))));
  }, [viewer, model]);
  // Asked and drawn at once: an effect would wait for a picture each time.
  useLayoutEffect(() => {
    if (ready) asker.current?.want(asked);
    else asker.current?.pause();
  }, [asked, ready, planned.version]);
  useLayoutEffect(() => {
    if (!viewer || !air) return;
    viewer.airOf(air.air, leaving);
    viewer.markedWith(marksOf(air.air, (mm3) => rendered([own(mm3, "volume")], system, true)), air.air.up);
    delete viewer.canvas.dataset.drawn; // the picture is of another answer until it is drawn anew
    viewer.drawn = () => (viewer.canvas.dataset.drawn = air.asked);
  }, [viewer, air, leaving, system]);

  // ---- what is given, or tried --------------------------------------------------------------------
  const given = (name: "pour-hole" | "vent" | "show") => tried[name] ?? part.options[name] ?? [];
  const shown = given("show")[0];
  useEffect(() => {
    const seen = seenBy(shown);
    viewer?.seen(seen?.inside ?? null, seen?.box ?? null);
  }, [viewer, shown]);
  useEffect(() => viewer?.ruled(ruler), [viewer, ruler]);
  const foam = planned.plan.foam;
  useEffect(() => {
    viewer?.madeOf(foam && coloring ? { foam: { profile: foam.skin_profile, thickness_mm: foam.skin_thickness_mm, skin_kg_m3: foam.skin_density_kg_m3, core_kg_m3: foam.core_density_kg_m3 }, dark: coloring.dark, light: coloring.light } : null);
  }, [viewer, foam, coloring]);
  useEffect(() => viewer?.cutAcross(axis, share), [viewer, axis, share]);
  const latest = { touch, exact, ruler, vents: given("vent") };
  const now = useRef(latest);
  now.current = latest;
  useEffect(() => {
    if (!viewer || !stage.current) return;
    return listenTo(viewer, stage.current, {
      touch: () => now.current.touch,
      clicked: (hit) => {
        const { touch: how, exact: here, ruler: so_far, vents } = now.current;
        const at = here ? hit.at_mm : viewer.topFrom(hit);
        if (how === "pour-hole") setTried((all) => ({ ...all, "pour-hole": [placeText(at)] }));
        else if (how === "vent") setTried((all) => ({ ...all, vent: vents.includes(placeText(at)) ? vents.filter((one) => one !== placeText(at)) : [...vents, placeText(at)] }));
        else if (how === "ruler") setRuler(so_far.length === 1 ? [...so_far, hit.at_mm] : [hit.at_mm]);
      },
      painted: (low, high) => setTried((all) => ({ ...all, show: [`${placeText(low)},${placeText(high)}`] })),
    });
  }, [viewer]);

  // ---- going elsewhere ------------------------------------------------------------------------------
  const going = useRef(0);
  const go = (to: Place): Promise<void> => {
    if (!viewer) {
      setUp(to);
      return Promise.resolve();
    }
    const mine = ++going.current;
    const far = angle(viewer.up, to);
    const steps = matchMedia("(prefers-reduced-motion: reduce)").matches ? 1 : Math.max(1, Math.round(far / 3));
    const start = performance.now();
    viewer.canvas.dataset.going = "yes"; // for those who wait until it has come to rest
    return new Promise((resolve) => {
      const step = () => {
        const done = steps === 1 ? 1 : Math.min(1, (performance.now() - start) / WALK_MS);
        if (going.current !== mine) return resolve();
        const rest = angle(viewer.up, to);
        const left = far * (1 - done);
        // Straight opposite, any side will do.
        const from = rest > 179 ? vector(viewer.up).add({ x: 0.01, y: 0.02, z: 0.03 } as Vector3) : vector(viewer.up);
        viewer.upright(rest < 1e-3 || done === 1 ? to : (from.normalize().lerp(vector(to).normalize(), Math.max(0, Math.min(1, 1 - left / rest))).toArray() as Place));
        if (done < 1) return requestAnimationFrame(step);
        delete viewer.canvas.dataset.going;
        resolve();
      };
      step();
    });
  };
  const ask = (at: Place) => airFor(part.id, question(at, tried));
  const best = async () => {
    setWalked("Looking around ...");
    try {
      const start = up;
      const before = await ask(start);
      const least_mm3 = before.smallest_pocket_mm3;
      let at = start;
      let least = before.trapped_vented_mm3;
      const better = async (next: Place) => {
        const there = (await ask(next)).trapped_vented_mm3;
        // Steps that nobody would see are none.
        if (there > 0.98 * least || there > least - 0.1 * least_mm3) return false;
        [at, least] = [next, there];
        return true;
      };
      if (least < least_mm3) return setWalked("Hardly any air stays as it stands now.");
      // The map is of a stand-in; what it promises is asked for on the part itself.
      for (const next of downhill(ways, start)) {
        await better(next);
        await go(next);
      }
      for (const step of STEPS_DEG) {
        for (let found = true; found && least >= least_mm3; ) {
          found = false;
          for (const next of around(at, step)) found = (await better(next)) || found;
          if (found) await go(at);
        }
      }
      await go(at);
      setWalked(same(at, start) ? "No better one lies next to this one." : rendered(["From ", ...amount(before.trapped_vented_mm3, before, false), " to ", ...amount(least, before, false), ` of air, ${angle(start, at).toFixed(0)} degrees from where it stood.`], system, true));
    } catch (error) {
      setWalked((error as Refused).message);
    }
  };
  const changed = !same(up, model.up) || Object.keys(tried).length > 0;
  const plan = () =>
    change(part.id, { ...(same(up, model.up) ? {} : { up: [directionText(up)] }), ...Object.fromEntries(Object.entries(tried).map(([name, texts]) => [name, texts.length > 0 ? texts : null])) }).then(() => wrong(""), (error: Refused) => wrong(error.message));
  const held = given("pour-hole").length + given("vent").length > 0;

  return (
    <>
      <div class="turn">
        <div class="turn-view">
          <div class={`stage ${flat ? "flat" : ""} ${touch === "turn" ? "" : "aims"}`} ref={stage} />
          {flat ? <p class="hint">This browser shows no 3D (WebGL is off); the map turns the part all the same.</p> : (
            <p class="hint">
              Up on the screen is up while the foam rises. Drag or arrow keys turn the part, with Shift in small steps; + and {"\u2212"} zoom, Home goes back. <Chip color={STAYS}>stays</Chip> <Chip color={LEAVES}>leaves by the vents</Chip> P: pour hole, numbers: vents.
            </p>
          )}
          {viewer && (
            <div class="tools">
              <fieldset>
                <legend>A click</legend>
                {TOUCHES.map(([one, words]) => <Choice key={one} name="touch" words={words} checked={touch === one} onChange={() => setTouch(one)} />)}
                {(touch === "pour-hole" || touch === "vent") && <Choice type="checkbox" name="exact" words="exactly there, not at the top nearby" checked={exact} onChange={setExact} />}
                {held && <button type="button" onClick={() => setTried((all) => ({ ...all, "pour-hole": [], vent: [] }))}>Let the program place them</button>}
                {shown && <button type="button" onClick={() => setTried((all) => ({ ...all, show: [] }))}>No show side</button>}
                <p class="hint">{ABOUT[touch]}</p>
                {touch === "ruler" && <p class="ruler" role="status">{ruler.length === 2 ? <T of={told`${pair(vector(ruler[0] as Place).distanceTo(vector(ruler[1] as Place)), "length")}, straight`} /> : ruler.length === 1 ? "and the other end" : ""}</p>}
              </fieldset>
              <fieldset>
                <legend>Cut</legend>
                {CUTS.map(([one, words]) => <Choice key={one} name="turn-cut" words={words} checked={axis === one} onChange={() => setAxis(one)} />)}
                <input type="range" min="0" max="1" step="0.01" value={share} aria-label="Where it is cut" disabled={axis < 0} onInput={(event) => setShare(event.currentTarget.valueAsNumber)} />
                {axis >= 0 && coloring && <Legend coloring={coloring} map={model.display.color_map} />}
                {axis >= 0 && <p class="hint">Skin and core by the depth below the surface, as the foam's card and its packing give them.</p>}
              </fieldset>
              <fieldset>
                <legend>Air</legend>
                <Choice type="checkbox" name="leaving" words="what leaves by the vents, too" checked={leaving} onChange={setLeaving} />
              </fieldset>
            </div>
          )}
        </div>
        <div class="turn-side">
          <Figures air={air?.air ?? null} old={old} />
          {!ready && <p class="hint">{part.mode === "working" ? "The plan is being computed; the air follows when it is there." : "The plan is not there; the air follows it."}</p>}
          <WayMap model={model} ways={ways} up={up} go={go} />
          <p class="hint">All ways up, dark where most air stays. Ring: as it stands now; star: planned; dots: ranked. Click to go there.</p>
          <div class="choices" role="group" aria-label="Ranked ways up">
            {model.ways.map((one) => <button type="button" key={one.rank} aria-pressed={same(one.up, up)} aria-label={`Way up ${one.rank}${one.planned ? ", planned" : ""}`} onClick={() => go(one.up)}>{one.rank}{one.planned ? " \u2605" : ""}</button>)}
          </div>
          <div class="choices">
            <button type="button" disabled={!ready} onClick={best}>Best from here</button>
            <button type="button" disabled={!changed} onClick={() => { setTried({}); go(model.up); }}>Back to the plan</button>
            <button type="button" class="plan-it" disabled={!changed || !ready} onClick={plan}>{same(up, model.up) && changed ? "Plan it so" : "Plan this way up"}</button>
          </div>
          <p class="walked" role="status">{walked}</p>
        </div>
      </div>
    </>
  );
}

const ABOUT: Record<Touch, string> = {
  turn: "Click on another to place holes, to say what is seen, or to measure; a drag turns the part all the same.",
  "pour-hole": "It goes to the highest place that can be reached upward from there.",
  vent: "It goes to the highest place that can be reached upward from there; a click there again takes it away.",
  show: "Drag over what will be seen. The plan takes the box around it, and keeps holes off what lies in it; turn with the arrow keys.",
  ruler: "Click on two places.",
};

function Chip({ color, children }: { color: number; children: ComponentChildren }) {
  return <span class="key"><span class="chip" style={{ background: css(color) }} />{children}</span>;
}

// Four directions so many degrees away.
function around(up: Place, degrees: number): Place[] {
  const w = vector(up).normalize();
  const u = (Math.abs(w.z) < 0.9 ? vector([0, 0, 1]) : vector([1, 0, 0])).cross(w).normalize();
  const v = w.clone().cross(u);
  const way = Math.tan((degrees * Math.PI) / 180);
  return [u, v].flatMap((one) => [way, -way].map((far) => w.clone().addScaledVector(one, far).normalize().toArray() as Place));
}
