// SPDX-License-Identifier: GPL-3.0-or-later
// What the arithmetic has to say: what is refused, what is noticed, and numbers as the program
// writes them into such sentences (lib/cavigram/core/text.cpp).
export type Severity = "note" | "warning" | "stop";

export interface Notice {
  severity: Severity;
  code: string;
  text: string;
}

// A choice that can't be computed: the text says what to change.
export class Refusal extends Error {}

// What rounding may do to a quotient of two equal densities.
export const ROUNDING = 1e-12;

export const GRAMS_PER_MM3 = 1e-6; // of 1 kg/m3

// So many significant digits, with the zeros that say how true it is.
export function plain(value: number, digits: number): string {
  if (value === 0) return "0";
  if (!Number.isFinite(value) || Math.abs(value) < 1e-4) return String(Number(value.toPrecision(digits)));
  const unit = 10 ** (Math.floor(Math.log10(Math.abs(value))) - digits + 1);
  const rounded = Math.sign(value) * Math.round(Math.abs(value) / unit) * unit;
  const magnitude = Math.floor(Math.log10(Math.abs(rounded)) + 1e-9);
  return rounded.toFixed(Math.max(0, digits - 1 - magnitude));
}

// So many digits at most, none that say nothing.
export function shortest(value: number, digits = 6): string {
  return String(Number(value.toPrecision(digits)));
}

export function mixWords(mix: { mix_a: number; mix_b: number }): string {
  return `${shortest(mix.mix_a, 4)}:${shortest(mix.mix_b, 4)}`;
}
