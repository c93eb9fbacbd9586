// SPDX-License-Identifier: GPL-3.0-or-later
// Several parts: what each needs, and which are poured from one cup.
import { useEffect, useState } from "preact/hooks";
import { Panel, T } from "../../pour_sheet/src/parts";
import { Scale, pair, told } from "../../pour_sheet/src/told";
import { type PartState, type Refused, change, modeWords, useResult } from "./api";

const id_of = (text: string) => text.split("@")[0] ?? "";

function Row({ part, chosen, parts }: { part: PartState; chosen: boolean; parts: PartState[] }) {
  const planned = useResult(part, "plan");
  const measured = useResult(part, "part");
  const plan = planned?.version === part.version ? planned.plan : null;
  const size = measured && measured.version === part.version ? measured.plan.measures : null;
  const long = size && Math.max(...size.bounds_max_mm.map((most, i) => most - (size.bounds_min_mm[i] ?? 0)));
  const stopped = plan?.findings.find((finding) => finding.severity === "stop");
  const scale = plan?.batch && new Scale(plan.batch.scale_readability_g);
  const cups = plan?.batch && plan.batch.cups_each > 1 ? `, in each of ${plan.batch.cups_each} cups` : "";
  const with_it = (part.options.also ?? []).map((text) => parts.find((one) => one.id === id_of(text))?.name ?? "?");
  const within = parts.filter((one) => one.id !== part.id && (one.options.also ?? []).some((text) => id_of(text) === part.id));
  return (
    <tr class={chosen ? "chosen" : ""}>
      <th scope="row">{part.name}</th>
      <td>{long ? <T of={told`${pair(long, "length")}`} /> : ""}</td>
      <td>{within.length > 0 && with_it.length === 0 ? `weighed with ${within.map((one) => one.name).join(", ")}` : stopped ? <strong class="late">Don't pour: {stopped.text}</strong> : plan?.batch && scale ? `A ${scale.text(plan.batch.part_a_g)}, B ${scale.text(plan.batch.part_b_g)}${cups}` : ""}</td>
      <td>{with_it.length > 0 ? `with ${with_it.join(", ")}` : within.length > 0 ? `that of ${within.map((one) => one.name).join(", ")}` : ""}</td>
      <td>{modeWords(part)}</td>
    </tr>
  );
}

function OneCup({ part, parts }: { part: PartState; parts: PartState[] }) {
  const [wrong, setWrong] = useState("");
  const others = parts.filter((one) => one.id !== part.id);
  const given = part.options.also ?? [];
  const set = (id: string, on: boolean) => {
    const also = on ? [...given, id] : given.filter((text) => id_of(text) !== id);
    change(part.id, { also: also.length > 0 ? also : null }).then(() => setWrong(""), (error: Refused) => setWrong(error.message));
  };
  return (
    <fieldset class="one-cup">
      <legend>Poured from one cup with {part.name}</legend>
      {others.map((one) => (
        <label key={one.id}>
          <input type="checkbox" checked={given.some((text) => id_of(text) === one.id)} onChange={(event) => set(one.id, event.currentTarget.checked)} /> {one.name}
        </label>
      ))}
      <p class="wrong" role="alert">{wrong}</p>
    </fieldset>
  );
}

export function Several({ parts, chosen }: { parts: PartState[]; chosen: PartState }) {
  return (
    <Panel title="All parts" kind="several">
      <div class="wide" tabIndex={0} role="region" aria-label="Table of all parts">
        <table>
          <thead><tr><th scope="col">Part</th><th scope="col">Long</th><th scope="col">To weigh</th><th scope="col">From one cup</th><th scope="col">Work</th></tr></thead>
          <tbody>{parts.map((part) => <Row key={part.id} part={part} chosen={part === chosen} parts={parts} />)}</tbody>
        </table>
      </div>
      <p class="hint">They are computed in turn, two at a time.</p>
      <OneCup key={chosen.id} part={chosen} parts={parts} />
    </Panel>
  );
}

// Files that came in one drop: asked once, as long as nothing is said.
export function Came({ ids, parts, said }: { ids: string[]; parts: PartState[]; said: (first: string) => void }) {
  const [wrong, setWrong] = useState("");
  const here = ids.filter((id) => parts.some((part) => part.id === id));
  const [first, ...rest] = here;
  useEffect(() => setWrong(""), [ids]);
  if (first === undefined || rest.length === 0) return null;
  const together = () => change(first, { also: rest }).then(() => said(first), (error: Refused) => setWrong(error.message));
  return (
    <section class="came" aria-label="Several files came">
      <p>{here.length} files came. How are they poured?</p>
      <p class="tools">
        <button type="button" onClick={together}>All from one cup</button>
        <button type="button" onClick={() => said(first)}>One after the other, a cup each</button>
      </p>
      <p class="wrong" role="alert">{wrong}</p>
    </section>
  );
}
