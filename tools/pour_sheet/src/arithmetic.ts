// SPDX-License-Identifier: GPL-3.0-or-later
// The program's arithmetic for grams, window and clock, done again in the page when a person turns
// a knob: each file follows the library's of the same matter, and tests/browser holds them together
// over 500 seeded cases.
import type { Live, MixCard } from "made/sheet_types";
import { type Batch, batchNotices, batchOf, recipeNotices } from "./batch";
import { type Clock, clockOf } from "./clock";
import { clockNotices } from "./clock_notices";
import { type Holes, type Mass, type PourWindow, foamNotices, holesOf, massOf, pressure_kpa, windowOf } from "./foam";
import { chosenMix, otherMix } from "./mix";
import type { Notice } from "./told";

export { Refusal, rendered } from "./told";

export interface Choice {
  density_kg_m3: number | null; // of the finished part; null: as the plan has it
  waste_share: number;
  copies: number;
  scale_readability_g: number;
  temperature_c: number;
}

export interface OtherMix {
  mix_a: number;
  mix_b: number;
  packing_factor: number;
  part_a_g: number; // 0: it would not fill the mold
  part_b_g: number;
  pressure_kpa: number;
  firmer: boolean;
}

export interface Result {
  card: MixCard; // at the mix that is taken
  mix_chosen: boolean;
  mix_clamped: boolean;
  mass: Mass;
  holes: Holes;
  window: PourWindow;
  batch: Batch;
  other: OtherMix | null;
  clock: Clock | null;
  notices: Notice[];
}

// The codes of all notices that `resultOf` may find; those of the plan with these codes are stale
// once a knob is turned.
export const LIVE_CODES = [
  "short_shot",
  "core_light",
  "may_fall_short",
  "high_pressure",
  "pigment_below_scale",
  "several_cups",
  "scale_too_coarse",
  "batch_too_small_for_scale",
  "residue_matters",
  "too_much_at_once",
  "bursts_mold",
  "no_time",
  "little_time",
  "pour_hole_narrow",
  "hold_while_turning",
];

function otherWay(live: Live, choice: Choice, mass: Mass, holes: Holes, card: MixCard): OtherMix | null {
  const other = otherMix(live, choice.density_kg_m3, card);
  if (other === null) return null;
  const mean = mass.molded_density_kg_m3;
  const rise = other.free_rise_kg_m3.value;
  const { mix_a, mix_b } = other;
  const way = { mix_a, mix_b, packing_factor: mean / rise, firmer: mix_a / mix_b > card.mix_a / card.mix_b };
  if (way.packing_factor < 1 - 1e-9) return { ...way, part_a_g: 0, part_b_g: 0, pressure_kpa: 0 };
  const { part_a_g, part_b_g } = batchOf(live, choice, mass, holes, card, other);
  return { ...way, part_a_g, part_b_g, pressure_kpa: pressure_kpa(live, rise, mean) };
}

// Everything that follows from a choice. Throws a Refusal where the program refuses.
export function resultOf(live: Live, choice: Choice): Result {
  const density = live.density_fixed ? null : choice.density_kg_m3;
  const { card, clamped } = chosenMix(live, density);
  const mass = massOf(live, density, card);
  const holes = holesOf(live, mass, card, choice.temperature_c);
  const window = windowOf(live, mass, holes, card);
  const batch = batchOf(live, choice, mass, holes, card);
  const other = otherWay(live, { ...choice, density_kg_m3: density }, mass, holes, card);
  const clock = live.bench ? clockOf(live, live.bench, choice, mass, batch, card) : null;
  return {
    card,
    mix_chosen: density === null ? live.mix_chosen : live.mix_is_open,
    mix_clamped: clamped,
    mass,
    holes,
    window,
    batch,
    other,
    clock,
    notices: [
      ...foamNotices(live, mass, window, card),
      ...batchNotices(live, choice, batch, card),
      ...recipeNotices(live, batch, window),
      ...(clock && live.bench ? clockNotices(clock, live.bench) : []),
    ],
  };
}
