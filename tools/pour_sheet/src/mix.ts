// SPDX-License-Identifier: GPL-3.0-or-later
// Which mix of the foam's family a density chooses: follows lib/cavigram/foam/mix_choice.cpp and
// the part of plan/foam_choice.cpp that asks it.
import type { Live, MixCard, Ranged } from "made/sheet_types";
import { Refusal, own, told } from "./told";

const GAS_J_MOL_K = 8.314462618; // CODATA 2018, exact
const ZERO_CELSIUS_K = 273.15;
const SAME_DENSITY = 1e-9;
const SAME_MIX = 1e-9;

export interface ChosenMix {
  card: MixCard;
  clamped: boolean;
}

export function atTemperature(card: MixCard, seconds: number, celsius: number, trusted_k: number): number {
  if (!(Math.abs(celsius - card.at_c) <= trusted_k)) {
    throw new Refusal(
      told`The foam's times are known at ${own(card.at_c, "temperature")} and can't be carried over more than ${trusted_k} degrees Celsius: measure them at your temperature.`,
    );
  }
  if (card.activation_kj_mol !== null) {
    const inverse = 1 / (card.at_c + ZERO_CELSIUS_K) - 1 / (celsius + ZERO_CELSIUS_K);
    return seconds * Math.exp(((-1000 * card.activation_kj_mol) / GAS_J_MOL_K) * inverse);
  }
  return seconds * 2 ** ((card.at_c - celsius) / card.halving_k);
}

const between = (x: number, y: number, share: number) => x + (y - x) * share;
const partsOfA = (card: MixCard) => card.mix_a / card.mix_b;

// Free rise is linear as specific volume, the rest as it is; times once they are at one temperature.
function blended(named: MixCard, x: MixCard, y: MixCard, share: number, mix_a: number, trusted_k: number): MixCard {
  const volume = (p: number, q: number) => 1 / between(1 / p, 1 / q, share);
  const ranged = (p: Ranged, q: Ranged, of: (p: number, q: number) => number): Ranged => ({
    value: of(p.value, q.value),
    low: of(p.low, q.low),
    high: of(p.high, q.high),
  });
  const time = (of: (card: MixCard) => number) =>
    between(atTemperature(x, of(x), named.at_c, trusted_k), atTemperature(y, of(y), named.at_c, trusted_k), share);
  return {
    ...named,
    mix_a,
    mix_b: 100,
    free_rise_kg_m3: ranged(x.free_rise_kg_m3, y.free_rise_kg_m3, volume),
    skin_density_kg_m3: ranged(x.skin_density_kg_m3, y.skin_density_kg_m3, (p, q) => between(p, q, share)),
    liquid_a_kg_m3: x.liquid_a_kg_m3,
    liquid_b_kg_m3: x.liquid_b_kg_m3,
    curve: x.curve,
    viscosity_pa_s: between(x.viscosity_pa_s, y.viscosity_pa_s, share),
    work_time_s: time((card) => card.work_time_s),
    rise_time_s: time((card) => card.rise_time_s),
    demold_min_s: time((card) => card.demold_min_s),
    demold_max_s: time((card) => card.demold_max_s),
  };
}

function atMix(live: Live, r: number, trusted_k: number): MixCard {
  const named = live.mixes[0] as MixCard;
  let below: MixCard | null = null;
  let above: MixCard | null = null;
  for (const one of live.mixes) {
    const parts = partsOfA(one);
    if (Math.abs(r / parts - 1) <= SAME_MIX) return one;
    if (parts < r && (below === null || parts > partsOfA(below))) below = one;
    if (parts > r && (above === null || parts < partsOfA(above))) above = one;
  }
  if (below === null || above === null) throw new Refusal(told`No mix is known that gives this density.`);
  const share = (r - partsOfA(below)) / (partsOfA(above) - partsOfA(below));
  return blended(named, below, above, share, 100 * r, trusted_k);
}

// r = r1 + (r2 - r1) (1/rho - 1/rho1) / (1/rho2 - 1/rho1) between the two nearest, clamped to the
// ends (foam_model.md 1).
export function mixForDensity(live: Live, density: number): ChosenMix {
  const trusted_k = live.bench?.trusted_step_k ?? 15;
  const wanted = density / live.wanted_packing;
  const rise = (card: MixCard) => card.free_rise_kg_m3.value;
  const known = [...live.mixes].sort((p, q) => rise(p) - rise(q));
  const same = known.find((card) => Math.abs(rise(card) / wanted - 1) <= SAME_DENSITY);
  if (same) return { card: same, clamped: false };
  const above = known.findIndex((card) => rise(card) > wanted);
  if (above === 0) return { card: known[0] as MixCard, clamped: true };
  if (above < 0) return { card: known[known.length - 1] as MixCard, clamped: true };
  const light = known[above - 1] as MixCard;
  const dense = known[above] as MixCard;
  const share = (1 / wanted - 1 / rise(light)) / (1 / rise(dense) - 1 / rise(light));
  return { card: atMix(live, between(partsOfA(light), partsOfA(dense), share), trusted_k), clamped: false };
}

// The mix for a density of the finished part, or the one that is fixed.
export function chosenMix(live: Live, density: number | null): ChosenMix {
  if (density === null) return { card: live.taken, clamped: live.mix_clamped };
  return live.mix_is_open ? mixForDensity(live, density) : { card: live.taken, clamped: false };
}

// The same density the other way: the named card's own mix where the density chose one, the one it
// would choose where the mix is fixed.
export function otherMix(live: Live, density: number | null, taken: MixCard): MixCard | null {
  if (!(density === null ? live.has_other_mix : live.may_have_other_mix)) return null;
  const chosen = density === null ? live.mix_chosen : live.mix_is_open;
  const other = chosen ? (live.mixes[0] as MixCard) : mixForDensity(live, density ?? live.density_kg_m3).card;
  return Math.abs(partsOfA(other) / partsOfA(taken) - 1) < 1e-3 ? null : other;
}

export function liquidDensity(card: MixCard): number {
  return (card.mix_a + card.mix_b) / (card.mix_a / card.liquid_a_kg_m3 + card.mix_b / card.liquid_b_kg_m3);
}
