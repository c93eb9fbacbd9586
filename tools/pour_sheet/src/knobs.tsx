// SPDX-License-Identifier: GPL-3.0-or-later
// The fields in which a person changes a figure.
import { useContext, useEffect, useState } from "preact/hooks";
import type { Live } from "made/sheet_types";
import type { Choice } from "./arithmetic";
import { Now } from "./cup";
import { type Shown, planned } from "./figures";
import { T, Units } from "./parts";
import { KG_M3_PER_LB_FT3, Scale, significant, unitOf } from "./told";

interface KnobProps {
  id: string;
  label: string;
  value: number | null; // null: settled by the plan, and not a figure
  most?: string;
  least?: string;
  disabled?: boolean;
  take: (value: number | null) => void; // null: no number
}

// Holds what is typed as it is typed; another value from outside replaces it.
function Knob({ id, label, value, least, most, disabled = false, take }: KnobProps) {
  const tidy = value === null ? "" : String(Number(value.toPrecision(4)));
  const [text, setText] = useState(tidy);
  useEffect(() => setText(tidy), [tidy]);
  return (
    <div class="knob">
      <label for={id}>{label}</label>
      <input
        id={id} type="number" inputMode="decimal" step="any" min={least} max={most} disabled={disabled} value={text}
        onInput={(event) => {
          const { value: typed, valueAsNumber: number } = event.currentTarget;
          setText(typed);
          take(Number.isNaN(number) ? null : number);
        }}
      />
    </div>
  );
}

interface KnobsProps {
  live: Live;
  choice: Choice;
  shown: Shown;
  turn: (choice: Choice, unread: string | null) => void;
}

export function Knobs({ live, choice, shown, turn }: KnobsProps) {
  const us = useContext(Units) === "us";
  const system = us ? "us" : "metric";
  const [resets, setResets] = useState(0); // a field that holds no number is filled again
  const film = live.waste_film;
  const fixed = [
    live.density_fixed ? "the density (what the plan was asked for leaves it no choice)" : "",
    film ? `what stays in the cup (a film, ${significant(film.stays_g, 3)} g of ${significant(film.of_g, 3)} g)` : "",
  ].filter((one) => one !== "");
  const scale = new Scale(live.scale_readability_g); // its unit is the plan's
  const perUnit = us ? KG_M3_PER_LB_FT3 : 1;
  const density = `Density of the part, ${unitOf("density", system)}`;
  const temperature = `Temperature, ${unitOf("temperature", system)}`;
  const take = (label: string, of: (value: number) => Partial<Choice>) => (value: number | null) =>
    value === null ? turn(choice, label) : turn({ ...choice, ...of(value) }, null);
  return (
    <form class="panel knobs" aria-label="Change a figure" onSubmit={(event) => event.preventDefault()} key={resets}>
      <h2>Change a figure</h2>
      <p class="hint">
        Mix, grams, window, drills and clock follow at once; what does not says “as planned”.
        {fixed.length > 0 && ` Settled by the plan: ${fixed.join("; ")}.`}
      </p>
      <Knob id="knob-density" label={density} value={(choice.density_kg_m3 ?? live.density_kg_m3) / perUnit} least="0" disabled={live.density_fixed} take={take(density, (v) => ({ density_kg_m3: v * perUnit }))} />
      <Knob id="knob-waste" label="Stays in the cup, %" value={film ? null : 100 * choice.waste_share} least="0" most="90" disabled={film !== undefined} take={take("Stays in the cup", (v) => ({ waste_share: v / 100 }))} />
      <Knob id="knob-copies" label="Copies" value={choice.copies} least="1" take={take("Copies", (v) => ({ copies: v }))} />
      <Knob id="knob-scale" label={`Scale shows, ${scale.unit}`} value={choice.scale_readability_g / scale.per} least="0" take={take("Scale shows", (v) => ({ scale_readability_g: v * scale.per }))} />
      {live.bench && <Knob id="knob-temperature" label={temperature} value={us ? choice.temperature_c * 1.8 + 32 : choice.temperature_c} take={take(temperature, (v) => ({ temperature_c: us ? (v - 32) / 1.8 : v }))} />}
      <button
        type="button" id="knob-back"
        onClick={() => {
          turn(planned(live), null);
          setResets(resets + 1);
        }}
      >
        Back to the plan
      </button>
      <p class={`message ${shown.refused ? "wrong" : ""}`} role="status" aria-live="polite">{shown.refused && <T of={shown.refused.text} />}</p>
      <p class="now">{!shown.refused && <Now shown={shown} />}</p>
    </form>
  );
}
