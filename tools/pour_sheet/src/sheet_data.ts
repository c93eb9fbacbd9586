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
    typical_values: boolean;
    basis: string;
    molded_density_kg_m3: number;
    skin_thickness_mm: number;
    skin_density_kg_m3: number;
    core_density_kg_m3: number;
    pressure_upper_kpa?: number;
    density_map?: {
      p10_kg_m3: number;
      median_kg_m3: number;
      p90_kg_m3: number;
      area_mm2: number;
      all_skin_area_mm2: number;
    };
  };
  batch?: { spare_g: number };
  air?: {
    up: Place;
    openings: { kind: string; at_mm: Place; where: string }[];
    vents: Vent[];
    trapped_unvented_mm3: number;
    trapped_vented_mm3: number;
  };
  orientations?: WayUp[];
  bench?: { liquid_depth_mm: number; pour_hole_needed_mm: number };
  findings: Finding[];
  cautions: string[];
}

export interface BenchFigures {
  temperature_c: number;
  at_c: number;
  work_time_s: number;
  demold_min_s: number;
  demold_max_s: number;
  halving_k: number;
  activation_kj_mol: number | null;
  trusted_step_k: number;
  stir_s: number;
  empty_cup_s: number;
  close_s: number;
  strap_s: number;
  turn_s: number;
  plug_s: number;
  brush_cm2_s: number;
  hole_flow_ml_s: number;
  liquid_kg_m3: number;
  area_mm2: number;
  lower_half_mm3: number;
  method: Method | null;
}

export type Method = "through_hole" | "open_half_and_turn" | "brush_first";

export interface Live {
  volume_mm3: number;
  volume_low_mm3: number;
  volume_high_mm3: number;
  basis: string;
  density_kg_m3: number;
  core_density_kg_m3: number;
  density_fixed: boolean;
  part_mass_g: number;
  part_mass_low_g: number;
  part_mass_high_g: number;
  also_mass_g: number;
  skin_density_kg_m3: number;
  skins: { thickness_mm: number; volume_mm3: number }[];
  mix_a: number;
  mix_b: number;
  spare_g: number;
  waste_share: number;
  pigment_share: number;
  scale_readability_g: number;
  copies: number;
  largest_g: number;
  liquid_kg_m3: number;
  free_rise_kg_m3: number | null;
  kit_a_g: number;
  kit_b_g: number;
  kit_price: number;
  currency: string;
  good_ratio_percent: number;
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
