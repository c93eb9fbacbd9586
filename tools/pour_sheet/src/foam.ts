// SPDX-License-Identifier: GPL-3.0-or-later
// The chain from packing to skin and core, what fills the holes, and the window of the pour:
// follows lib/cavigram/foam/foam_mass.cpp, foam/window.cpp, foam/pressure.cpp and plan/air_foam.cpp.
import type { Live, MixCard } from "made/sheet_types";
import { ventDrill_mm } from "./flow";
import { atTemperature, liquidDensity } from "./mix";
import { GRAMS_PER_MM3, type Notice, ROUNDING, Refusal, TOLD, own, pair, setting, told } from "./told";

export interface Mass {
  part_mass_g: number;
  part_mass_low_g: number;
  part_mass_high_g: number;
  molded_density_kg_m3: number;
  free_rise_kg_m3: number;
  packing_factor: number;
  core_density_kg_m3: number;
  skin_density_kg_m3: number;
  skin_volume_mm3: number;
  skin_mass_g: number;
  core_mass_g: number;
  also_mass_g: number;
}

export interface Holes {
  vent_mm: number;
  volume_mm3: number;
  mass_g: number;
}

export interface PourWindow {
  fills_from_low_g: number;
  fills_from_g: number;
  fills_from_high_g: number;
  planned_g: number;
  presses_over_g: number;
  pressure_kpa: number;
  strap_for_kpa: number;
  mold_holds_kpa: number;
}

// The volume of skin, or a refusal; the core is at free rise unless a measured skin leaves more.
function skinAndCore(live: Live, mean: number, skin_density: number, card: MixCard): [number, number] {
  const volume = live.volume_mm3;
  const rise = card.free_rise_kg_m3;
  if (live.measured_skin_mm3 !== null) {
    const skin = live.measured_skin_mm3;
    if (skin >= volume) {
      throw new Refusal(told`The measured skin leaves no core, so the density is the skin's own: ask for that, or give a thinner skin.`);
    }
    const core = (mean * volume - skin_density * skin) / (volume - skin);
    if (core < rise.low * (1 - ROUNDING)) {
      throw new Refusal(
        told`With the measured skin the core would be lighter than this foam rises freely (${own(rise.value, "density")}), which can't be: this skin fits a part of ${own(rise.value + ((skin_density - rise.value) * skin) / volume, "density")}.`,
      );
    }
    return [skin, core];
  }
  const all = skin_density <= rise.value;
  const surplus = mean <= rise.value ? 0 : all ? volume : Math.min(volume, ((mean - rise.value) / (skin_density - rise.value)) * volume);
  if (mean / rise.value > 1 + ROUNDING && surplus >= volume) {
    throw new Refusal(
      told`A part of ${own(mean, "density")} would have to be all skin and more: skin has ${own(skin_density, "density")} here; ask for less than that.`,
    );
  }
  return [surplus, rise.value];
}

function asPlanned(live: Live): Mass {
  const skin_density = (live.skin_density_kg_m3 ?? live.taken.skin_density_kg_m3).value;
  const skin_mass = GRAMS_PER_MM3 * skin_density * live.skin_volume_mm3;
  return {
    part_mass_g: live.part_mass_g,
    part_mass_low_g: live.part_mass_low_g,
    part_mass_high_g: live.part_mass_high_g,
    molded_density_kg_m3: live.density_kg_m3,
    free_rise_kg_m3: live.taken.free_rise_kg_m3.value,
    packing_factor: live.packing_factor,
    core_density_kg_m3: live.core_density_kg_m3,
    skin_density_kg_m3: skin_density,
    skin_volume_mm3: live.skin_volume_mm3,
    skin_mass_g: skin_mass,
    core_mass_g: live.part_mass_g - skin_mass,
    also_mass_g: live.also_mass_g,
  };
}

// Skin and core of one part of this mean density. Below a packing of 1 the foam rises freely and
// leaves the rest of the cavity empty.
export function massOf(live: Live, density: number | null, card: MixCard): Mass {
  if (density === null) return asPlanned(live);
  if (!(density >= 10 && density <= 2000)) throw new Refusal(told`Density: give ${own(10, "density", 2)} to ${own(2000, "density", 4)}.`);
  const rise = card.free_rise_kg_m3.value;
  const skin_density = (live.skin_density_kg_m3 ?? card.skin_density_kg_m3).value;
  const packing = density / rise;
  const short = packing < 1 - ROUNDING;
  const [skin, core] = short ? [0, rise] : skinAndCore(live, density, skin_density, card);
  const skin_mass = GRAMS_PER_MM3 * skin_density * skin;
  const core_mass = GRAMS_PER_MM3 * core * (short ? packing * live.volume_mm3 : live.volume_mm3 - skin);
  const mass = skin_mass + core_mass;
  return {
    part_mass_g: mass,
    part_mass_low_g: (mass * live.volume_low_mm3) / live.volume_mm3,
    part_mass_high_g: (mass * live.volume_high_mm3) / live.volume_mm3,
    molded_density_kg_m3: density,
    free_rise_kg_m3: rise,
    packing_factor: packing,
    core_density_kg_m3: core,
    skin_density_kg_m3: skin_density,
    skin_volume_mm3: skin,
    skin_mass_g: skin_mass,
    core_mass_g: core_mass,
    also_mass_g: GRAMS_PER_MM3 * density * live.also_volume_mm3,
  };
}

// The fastest that the foam drives air out, in cavities a second: c P s (-ln s) at the share s that
// is nearest to 1/e of those it passes (plan/air_foam.cpp).
function airRate(live: Live, mass: Mass, card: MixCard, celsius: number): number {
  if (card.rise_time_s <= card.work_time_s) throw new Refusal(told`The foam's rise ends before it begins: correct its card.`);
  const rise_s = atTemperature(card, card.rise_time_s - card.work_time_s, celsius, live.bench?.trusted_step_k ?? 15);
  const expansion = Math.max(1.1, liquidDensity(card) / mass.free_rise_kg_m3);
  const c = Math.log(Math.log(expansion) / -Math.log(live.bench?.risen_share ?? 0.98)) / rise_s;
  const first = 1 / expansion;
  const last = Math.max(first, Math.min(1, 1 / mass.packing_factor));
  const fastest = Math.min(Math.max(1 / Math.E, first), last);
  return c * mass.packing_factor * fastest * -Math.log(fastest);
}

export function holesOf(live: Live, mass: Mass, card: MixCard, celsius: number): Holes {
  const { pour_hole_mm, vents, wall_mm } = live.holes;
  const vent_mm = ventDrill_mm((airRate(live, mass, card, celsius) * live.volume_mm3) / 1000, wall_mm);
  const area = (d: number) => (Math.PI / 4) * d * d;
  const volume = wall_mm * (area(pour_hole_mm) + vents * area(vent_mm));
  return { vent_mm, volume_mm3: volume, mass_g: GRAMS_PER_MM3 * mass.molded_density_kg_m3 * volume };
}

// About what foam that would rise to `rise` presses with at a density: its gas is squeezed.
export function pressure_kpa(live: Live, rise: number, density: number): number {
  const free = 1 / rise - 1 / live.polymer_kg_m3;
  const held = 1 / density - 1 / live.polymer_kg_m3;
  return Math.max(0, live.air_kpa * (free / held - 1));
}

export function windowOf(live: Live, mass: Mass, holes: Holes, card: MixCard): PourWindow {
  const rise = card.free_rise_kg_m3;
  const volume = live.volume_mm3 + holes.volume_mm3;
  const planned = mass.part_mass_g + holes.mass_g;
  const free = 1 / rise.value - 1 / live.polymer_kg_m3;
  const most = 1 / (1 / live.polymer_kg_m3 + free / (1 + live.mold_holds_kpa / live.air_kpa));
  const mean = Math.min(planned / (GRAMS_PER_MM3 * volume), live.polymer_kg_m3 * (1 - 1e-9));
  const pressure = pressure_kpa(live, rise.value, mean);
  return {
    fills_from_low_g: GRAMS_PER_MM3 * rise.low * (live.volume_low_mm3 + holes.volume_mm3),
    fills_from_g: GRAMS_PER_MM3 * rise.value * volume,
    fills_from_high_g: GRAMS_PER_MM3 * rise.high * (live.volume_high_mm3 + holes.volume_mm3),
    planned_g: planned,
    presses_over_g: GRAMS_PER_MM3 * volume * most,
    pressure_kpa: pressure,
    strap_for_kpa: live.pressure_reserve * pressure,
    mold_holds_kpa: live.mold_holds_kpa,
  };
}

export function foamNotices(live: Live, mass: Mass, w: PourWindow, card: MixCard): Notice[] {
  const found: Notice[] = [];
  const rise = card.free_rise_kg_m3;
  const [mean, free] = [own(mass.molded_density_kg_m3, "density"), own(rise.value, "density")];
  if (mass.packing_factor < 1 - ROUNDING) {
    found.push({
      severity: "stop",
      code: "short_shot",
      text: told`At ${mean} over the whole part this foam, which rises freely to ${free}, does not fill the mold; give at least that density, or a lighter foam.`,
    });
  }
  if (live.measured_skin_mm3 !== null && mass.core_density_kg_m3 < rise.value * (1 - ROUNDING)) {
    found.push({
      severity: "warning",
      code: "core_light",
      text: told`With this skin the core has ${own(mass.core_density_kg_m3, "density")}: the foam must rise freely to that, and not only to the ${free} that is stated (${own(rise.low, "density")} is within its range); else it falls short.`,
    });
  }
  if (w.planned_g >= w.fills_from_g * (1 - ROUNDING) && w.planned_g < w.fills_from_high_g * (1 - TOLD)) {
    found.push({
      severity: "warning",
      code: "may_fall_short",
      text: told`If this foam rises as little as it may, the mold fills only from ${own(w.fills_from_high_g, "mass")} and ${own(w.planned_g, "mass")} are planned; pour that much, or weigh what rises in a cup and give its density.`,
    });
  }
  if (w.planned_g > w.presses_over_g * (1 + ROUNDING)) {
    found.push({
      severity: "warning",
      code: "high_pressure",
      text: told`The foam will press with about ${pair(w.pressure_kpa, "pressure", 2)} and the mold is taken to hold ${own(w.mold_holds_kpa, "pressure", 2)}; pour less than ${own(w.presses_over_g, "mass")} into it, choose a denser mix, or strap it for ${own(w.strap_for_kpa, "pressure", 2)} and say so (${setting("mold-holds")}).`,
    });
  }
  return found;
}
