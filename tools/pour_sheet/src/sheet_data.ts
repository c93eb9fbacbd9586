// SPDX-License-Identifier: GPL-3.0-or-later
// What the program puts into the page: see lib/cavigram/report/pour_sheet.h and docs/json.md.

export type Place = [number, number, number];

export interface Finding {
  severity: "note" | "warning" | "stop";
  code: string;
  text: string;
  at_mm: Place[];
}

export interface RepairStep {
  action: string;
  count: number;
  volume_change_mm3: number;
  volume_below_mm3: number;
  volume_above_mm3: number;
}

export interface ThinRegion {
  least_mm: number;
  typical_mm: number;
  area_mm2: number;
  at_mm: Place;
  reason: "all_skin" | "hard_to_fill" | "below_limit";
  where?: string;
}

export interface Vent {
  at_mm: Place;
  frees_mm3: number;
  diameter_mm: number;
  given: boolean;
  where?: string;
}

export interface WayUp {
  up: Place;
  rank: number;
  vents_needed: number;
  trapped_unvented_mm3: number;
  trapped_vented_mm3: number;
  trapped_leaning_mm3: number;
  forgiven_lean_deg: number;
  height_mm: number;
  asked: boolean;
  as_the_file_stands: boolean;
  reasons: string[];
}

export interface Plan {
  program: { version: string };
  input: { file: string; format: string; triangles: number; units: string; units_source: string };
  repair: { verdict: string; steps: RepairStep[] };
  measures: {
    volume_mm3: number;
    volume_low_mm3: number;
    volume_high_mm3: number;
    area_mm2: number;
    bounds_min_mm: Place;
    bounds_max_mm: Place;
  };
  thin?: {
    limit_mm: number;
    skin_mm: number;
    all_skin_area_mm2: number;
    regions: ThinRegion[];
    small_regions: { count: number; area_mm2: number };
  };
  foam?: {
    card: string;
    basis: string;
    skin_measured: boolean;
    skin_thickness_mm: number;
    skin_thickness_low_mm: number;
    skin_thickness_high_mm: number;
    isocyanate_index?: number;
    density_map?: {
      p10_kg_m3: number;
      median_kg_m3: number;
      p90_kg_m3: number;
      all_skin_area_mm2: number;
    };
    also?: { file: string; volume_mm3: number; part_mass_g: number }[];
  };
  finish?: { area_mm2: number; rate_g_m2: number; grams: number };
  air?: {
    up: Place;
    pour_hole_after: "vented" | "plugged" | "none";
    openings: { kind: string; at_mm: Place; where: string; lets_air_out: boolean; given: boolean }[];
    vents: Vent[];
    pockets: unknown[];
    trapped_unvented_mm3: number;
    trapped_vented_mm3: number;
  };
  orientations?: WayUp[];
  bench?: { liquid_depth_mm: number };
  guesses: { what: string; value: string; replace_with: string }[];
  findings: Finding[];
  cautions: string[];
}

export interface BenchFigures {
  temperature_c: number;
  trusted_step_k: number;
  risen_share: number;
  stir_s: number;
  empty_cup_s: number;
  close_s: number;
  strap_s: number;
  turn_s: number;
  plug_s: number;
  brush_cm2_s: number;
  turn_grace_s: number;
  viscosity_pa_s: number | null; // null: the mix's own
  area_mm2: number;
  open_half_mm3: number;
  pour_hole_mm: number;
  has_pour_hole: boolean;
  hole_length_mm: number;
  funnel_head_mm: number;
  widest_hole_mm: number | null;
  method: Method | null; // null: the best that fits
}

export type Method = "through_hole" | "open_half_and_turn" | "brush_first";
export type Curve = "gompertz" | "first_order" | "logistic";

export interface Ranged {
  value: number;
  low: number;
  high: number;
}

// A mix as its card states it; free rise in the room's air, times at the card's temperature.
export interface MixCard {
  mix_a: number;
  mix_b: number;
  free_rise_kg_m3: Ranged;
  skin_density_kg_m3: Ranged;
  liquid_a_kg_m3: number;
  liquid_b_kg_m3: number;
  viscosity_pa_s: number;
  at_c: number;
  halving_k: number;
  activation_kj_mol: number | null;
  curve: Curve;
  work_time_s: number;
  rise_time_s: number;
  demold_min_s: number;
  demold_max_s: number;
  kit_a_g: number;
  kit_b_g: number;
  kit_price: number;
  currency: string;
}

export interface Live {
  volume_mm3: number;
  volume_low_mm3: number;
  volume_high_mm3: number;
  density_kg_m3: number;
  core_density_kg_m3: number;
  packing_factor: number;
  skin_volume_mm3: number;
  part_mass_g: number;
  part_mass_low_g: number;
  part_mass_high_g: number;
  measured_skin_mm3: number | null;
  skin_density_kg_m3: Ranged | null; // null: the mix's own
  taken: MixCard;
  mixes: MixCard[]; // the named card's first
  mix_is_open: boolean;
  mix_chosen: boolean;
  mix_clamped: boolean;
  wanted_packing: number;
  has_other_mix: boolean;
  may_have_other_mix: boolean;
  density_fixed: boolean;
  also_volume_mm3: number;
  also_mass_g: number;
  molds: number;
  air_kpa: number;
  polymer_kg_m3: number;
  mold_holds_kpa: number;
  pressure_reserve: number;
  holes: { pour_hole_mm: number; vents: number; wall_mm: number };
  flash_share: number;
  spare_g: number;
  waste_share: number;
  waste_film: { stays_g: number; of_g: number } | null;
  cup_residue_g: number;
  residue_spread: number;
  usual_residue_g: number;
  tared: boolean;
  pigment_share: number;
  scale_readability_g: number;
  copies: number;
  largest_g: number;
  good_ratio_percent: number;
  worst_ratio_percent: number;
  bench?: BenchFigures;
}

export interface Coloring {
  key: string;
  title: string;
  unit: string;
  least: number;
  most: number;
  most_is_cap?: boolean;
  classes?: [string, string];
  values: string;
}

export interface Mark {
  pour_hole: boolean;
  plugged: boolean;
  label: string;
  at_mm: Place;
  diameter_mm: number;
}

export interface Display {
  origin_mm: Place;
  size_mm: Place;
  triangles: number;
  deviation_mm: number;
  positions: string;
  indices: string;
  front: Place;
  marks: Mark[];
  colorings: Coloring[];
  color_map: number[];
}

export interface Hole {
  kind: "pour_hole" | "vent";
  at_mm: Place;
}

export interface SheetData {
  plan: Plan;
  live: Partial<Live>;
  display: Display;
  ways: Hole[][]; // the holes for each row of plan.orientations
  pictures: { title: string; width: number; svg: string }[];
}

export function bytesOf(base64: string): Uint8Array<ArrayBuffer> {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}
