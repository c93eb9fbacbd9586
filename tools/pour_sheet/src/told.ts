// SPDX-License-Identifier: GPL-3.0-or-later
// Sentences with quantities in pieces, and how they are read: follows lib/cavigram/core/told.cpp
// and text.cpp; tests/browser/told_test.mjs holds them together.
import type { Piece, Place, Quantity, Told } from "made/sheet_types";

export type System = "metric" | "us";
type Kind = Quantity["kind"];

// ---- numbers ------------------------------------------------------------------------------------

// So many digits at most, none that say nothing, and an exponent as C's %g has it.
export function general(value: number, digits = 6): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const [mantissa = "", power = "0"] = value.toExponential(digits - 1).split("e");
  const exponent = Number(power);
  if (exponent >= -4 && exponent < digits) return String(Number(value.toPrecision(digits)));
  const sign = exponent < 0 ? "-" : "+";
  return `${Number(mantissa)}e${sign}${String(Math.abs(exponent)).padStart(2, "0")}`;
}

// So many significant digits, with the zeros that say how true it is.
export function significant(value: number, digits: number): string {
  if (value === 0) return "0";
  if (!Number.isFinite(value) || Math.abs(value) < 1e-4 || Math.abs(value) >= 1e15) return general(value, digits);
  // Rounded first: 9.996 with 3 digits is 10.0, one place fewer behind the point than 9.99.
  const unit = 10 ** (Math.floor(Math.log10(Math.abs(value))) - digits + 1);
  const rounded = Math.sign(value) * Math.round(Math.abs(value) / unit) * unit;
  const magnitude = Math.floor(Math.log10(Math.abs(rounded)) + 1e-9);
  return rounded.toFixed(Math.max(0, digits - 1 - magnitude));
}

// ---- units --------------------------------------------------------------------------------------

const INCH_MM = 25.4;
const OUNCE_G = 28.349523125;
const HEAVY_G = 10000; // from here on kilograms and pounds
export const KG_M3_PER_LB_FT3 = 16.018463373960138;
const PSI_KPA = 6.894757293168361;
const OUNCE_PER_SQUARE_FOOT_G_M2 = 305.15172727389685;

// A scale, and weights as they stand on it: 38 g with a step of 1 g, 38.0 g with 0.1. One whose step
// is round in ounces and not in grams shows ounces.
export class Scale {
  readonly unit: "g" | "oz";
  readonly per: number; // grams
  readonly step: number; // in its unit
  readonly fine: number; // so fine at least where weights are added up
  constructor(step_g: number) {
    const round = (step: number) => Math.abs(1000 * step - Math.round(1000 * step)) < 1e-6 * 1000 * step;
    const ounces = !round(step_g) && round(step_g / OUNCE_G);
    this.unit = ounces ? "oz" : "g";
    this.per = ounces ? OUNCE_G : 1;
    this.step = step_g / this.per;
    this.fine = Math.min(this.step, ounces ? 0.005 : 0.1);
  }
  number(grams: number, step = this.step): string {
    return (grams / this.per).toFixed(Math.min(3, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9))));
  }
  text(grams: number, step = this.step): string {
    return `${this.number(grams, step)} ${this.unit}`;
  }
  three(grams: number): string {
    return significant(grams / this.per, 3);
  }
  get stepText(): string {
    return `${general(this.step)} ${this.unit}`;
  }
}

type Figure = [number, string];

function figure(value: number, kind: Kind, system: System): Figure {
  const metric: Record<Kind, Figure> = {
    length: [value, "mm"],
    area: [value / 100, "cm2"],
    volume: value < 1e6 ? [value / 1000, "cm3"] : [value / 1e6, "L"],
    mass: value < HEAVY_G ? [value, "g"] : [value / 1000, "kg"],
    density: [value, "kg/m3"],
    areal_density: [value, "g/m2"],
    temperature: [value, "C"],
    pressure: [value, "kPa"],
  };
  const us: Record<Kind, Figure> = {
    length: [value / INCH_MM, "in"],
    area: [value / (INCH_MM * INCH_MM), "in2"],
    volume: [value / (INCH_MM * INCH_MM * INCH_MM), "in3"],
    mass: value < HEAVY_G ? [value / OUNCE_G, "oz"] : [value / OUNCE_G / 16, "lb"],
    density: [value / KG_M3_PER_LB_FT3, "lb/ft3"],
    areal_density: [value / OUNCE_PER_SQUARE_FOOT_G_M2, "oz/ft2"],
    temperature: [1.8 * value + 32, "F"],
    pressure: [value / PSI_KPA, "psi"],
  };
  return (system === "metric" ? metric : us)[kind];
}

// Raised digits and degrees, for those who don't read in a terminal.
const PRETTY: Record<string, string> = { cm2: "cm\u00b2", cm3: "cm\u00b3", in2: "in\u00b2", in3: "in\u00b3", "kg/m3": "kg/m\u00b3", "lb/ft3": "lb/ft\u00b3", "g/m2": "g/m\u00b2", "oz/ft2": "oz/ft\u00b2", C: "\u00b0C", F: "\u00b0F" };

export function unitOf(kind: Kind, system: System): string {
  const unit = figure(1, kind, system)[1];
  return PRETTY[unit] ?? unit;
}

// Drills in inches come in steps of 1/64; one that is narrower by less than a twentieth of that
// step will do.
function fraction(mm: number): string {
  let parts = Math.max(1, Math.ceil((64 * mm) / INCH_MM - 0.05));
  let whole = 64;
  while (parts % 2 === 0 && whole > 1) [parts, whole] = [parts / 2, whole / 2];
  const full = Math.floor(parts / whole);
  const rest = parts % whole;
  return rest === 0 ? `${full} in` : `${full > 0 ? `${full} ` : ""}${rest}/${whole} in`;
}

// ---- pieces -------------------------------------------------------------------------------------

const make = (telling: Quantity["telling"]) => (value: number, kind: Kind, digits = 3): Quantity => ({ kind, value, digits, telling });
export const pair = make("pair"); // in both systems
export const own = make("single"); // in the person's own
export const end = make("number"); // the same without its unit
export const drill = (mm: number): Quantity => ({ kind: "length", value: mm, digits: 2, telling: "drill" });
export const setting = (name: string): Piece => ({ setting: name });

type Said = string | number | Piece | Told;

// A sentence: told`about ${own(3, "mass")} more`.
export function told(texts: TemplateStringsArray, ...values: Said[]): Told {
  return texts.flatMap((text, i) => {
    const value = values[i - 1];
    const before = value === undefined ? [] : Array.isArray(value) ? value : [typeof value === "number" ? String(value) : value];
    return [...before, text];
  }).filter((piece) => piece !== "");
}

// The sentence with its quantities of one kind at another value.
export function withValue(sentence: Told, kind: Kind, value: number): Told {
  return sentence.map((piece) => (typeof piece === "object" && "kind" in piece && piece.kind === kind ? { ...piece, value } : piece));
}

function quantityText(piece: Quantity, system: System, pretty: boolean): string {
  const text = (one: System, digits: number, unit = true) => {
    const [value, name] = figure(piece.value, piece.kind, one);
    return significant(value, digits) + (unit ? ` ${pretty ? (PRETTY[name] ?? name) : name}` : "");
  };
  if (piece.telling === "drill") return system === "metric" ? text("metric", piece.digits) : `${fraction(piece.value)} (${text("metric", piece.digits)})`;
  const other = system === "metric" ? "us" : "metric";
  const turned = piece.telling === "other_single" || piece.telling === "other_number";
  const first = text(turned ? other : system, piece.digits, piece.telling !== "number" && piece.telling !== "other_number");
  return piece.telling === "pair" ? `${first} (${text(other, Math.min(piece.digits, 3))})` : first;
}

function placeText(at: Place, system: System): string {
  const decimals = system === "metric" ? 1 : 2;
  // Halves away from zero, and no -0.0.
  const shown = (v: number) => {
    const steps = (10 ** decimals * v) / (system === "metric" ? 1 : INCH_MM);
    return ((Math.sign(steps) * Math.round(Math.abs(steps))) / 10 ** decimals + 0).toFixed(decimals);
  };
  return `x ${shown(at[0])}, y ${shown(at[1])}, z ${shown(at[2])} ${system === "metric" ? "mm" : "in"}`;
}

export function rendered(sentence: Told, system: System, pretty = false): string {
  return sentence
    .map((piece) => {
      if (typeof piece === "string") return piece;
      if ("setting" in piece) return `--${piece.setting}`;
      return "at_mm" in piece ? placeText(piece.at_mm, system) : quantityText(piece, system, pretty);
    })
    .join("");
}

// ---- what the arithmetic has to say ---------------------------------------------------------------

export interface Notice {
  severity: "note" | "warning" | "stop";
  code: string;
  text: Told;
}

// A choice that can't be computed: the sentence says what to change.
export class Refusal extends Error {
  readonly told: Told;
  constructor(sentence: Told) {
    super(rendered(sentence, "metric"));
    this.told = sentence;
  }
}

// What rounding may do to a quotient of two equal densities.
export const ROUNDING = 1e-12;
export const TOLD = 0.005; // a share that does not show in three figures
export const GRAMS_PER_MM3 = 1e-6; // of 1 kg/m3

export function mixWords(mix: { mix_a: number; mix_b: number }): string {
  return `${general(mix.mix_a, 4)}:${general(mix.mix_b, 4)}`;
}
