// SPDX-License-Identifier: GPL-3.0-or-later
// What is known of the part, as it stands in plan.json.
import { Fact, Panel, T } from "../../pour_sheet/src/parts";
import { Scale, pair, told } from "../../pour_sheet/src/told";
import type { PlanJson } from "./api";

const WEIGHT = { stop: 0, warning: 1, note: 2 };
// What must be acted on first stands first.
const byWeight = (findings: PlanJson["findings"]) => [...findings].sort((a, b) => WEIGHT[a.severity] - WEIGHT[b.severity]);
const stop = (plan: PlanJson) => plan.findings.find((finding) => finding.severity === "stop");

// Nothing stands large that a stop speaks against.
export function Grams({ plan, stale, whole }: { plan: PlanJson; stale: boolean; whole: boolean }) {
  const { batch, window } = plan;
  if (!batch || !window) return null;
  const stopped = stop(plan);
  if (stopped) {
    return (
      <section class="cup stopped" aria-label="Grams">
        <span class="letter" aria-hidden="true">!</span>
        <strong>Don't pour</strong>
        <p>{stopped.text}</p>
      </section>
    );
  }
  const scale = new Scale(batch.scale_readability_g);
  const weight = (letter: string, name: string, grams: number) => (
    <div class="grams">
      <span class="letter" aria-hidden="true">{letter}</span>
      <span class="number">{scale.number(grams)}<span class="unit">{scale.unit}</span></span>
      <span class="what">{name}</span>
    </div>
  );
  const cups = batch.cups_each > 1 ? `, into each of ${batch.cups_each} cups` : "";
  return (
    <section class={stale ? "cup stale" : "cup"} aria-label="Grams">
      <div class="weights">
        {weight("A", `part A${cups}`, batch.part_a_g)}
        {weight("B", `part B${cups}`, batch.part_b_g)}
        {batch.pigment_g > 0 && weight("P", "pigment", batch.pigment_g)}
      </div>
      <p>
        In the mold it fills from {scale.three(window.fills_from_g)} {scale.unit}; planned {scale.three(window.planned_g)} {scale.unit};
        presses too hard over {scale.three(window.presses_over_g)} {scale.unit}.
      </p>
      <p class="hint">
        {stale ? "As it was before the change; being computed again." : whole ? "As on the pour sheet below." : "First figures: the whole plan may change them or speak against them. Wait for it before you weigh."}
      </p>
    </section>
  );
}

const VERDICT: Record<string, string> = {
  sound: "The file is sound.",
  repaired: "The file had faults, which were mended.",
  wrapped: "The surface was replaced by a wrap around it.",
  unusable: "The file can't be used as it is.",
};

export function Verdict({ plan, stale }: { plan: PlanJson; stale: boolean }) {
  const { repair, measures, input } = plan;
  const range = measures.volume_high_mm3 - measures.volume_low_mm3 > 1e-9 * measures.volume_mm3;
  return (
    <Panel title="The file" kind={stale ? "stale" : ""}>
      <p class="now">{VERDICT[repair.verdict] ?? repair.verdict}</p>
      <dl class="rows">
        <Fact name="Volume">
          <T of={told`${pair(measures.volume_mm3, "volume")}${range ? told`, ${pair(measures.volume_low_mm3, "volume")} to ${pair(measures.volume_high_mm3, "volume")}` : told`, exact for this mesh`}`} />
        </Fact>
        <Fact name="Area"><T of={told`${pair(measures.area_mm2, "area")}`} /></Fact>
        <Fact name="Mesh">{`${input.triangles.toLocaleString("en-US")} triangles, ${measures.shells} ${measures.shells === 1 ? "closed surface" : "closed surfaces"}, ${input.format}`}</Fact>
        {repair.steps.map((step, i) => <Fact key={i} name={i === 0 ? "Mended" : ""}>{`${step.action.replaceAll("_", " ")}: ${step.count}`}</Fact>)}
      </dl>
    </Panel>
  );
}

const SEVERITY = { note: "Note", warning: "Warning", stop: "Stop" };

export function Notices({ plan, stale }: { plan: PlanJson; stale: boolean }) {
  if (plan.findings.length === 0) return null;
  return (
    <Panel title="Notices" kind={stale ? "stale" : ""}>
      <ul class="findings">
        {byWeight(plan.findings).map((finding, i) => <li class={finding.severity} key={i}><strong>{SEVERITY[finding.severity]}:</strong> {finding.text}</li>)}
      </ul>
    </Panel>
  );
}
