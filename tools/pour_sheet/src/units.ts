// SPDX-License-Identifier: GPL-3.0-or-later
// Figures with both systems of units, the one that is wanted first.

export type System = "metric" | "us";

// So many significant digits, no exponent, no zeros that say nothing.
export function significant(value: number, digits: number): string {
  if (value === 0 || !Number.isFinite(value)) return "0";
  const decimals = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))));
  const text = Number(value.toPrecision(digits)).toFixed(Math.min(decimals, 8));
  const [whole = "0", part] = text.split(".");
  const threes = whole.replace(/\B(?=(\d{3})+$)/g, ",");
  return part === undefined ? threes : `${threes}.${part}`;
}

// Grams as the scale shows them: 38 with a step of 1, 38.0 with 0.1.
export function scaleGrams(grams: number, step: number): string {
  const decimals = Math.min(3, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
  return grams.toFixed(decimals);
}

function pair(system: System, metric: string, us: string): string {
  return system === "metric" ? `${metric} (${us})` : `${us} (${metric})`;
}

export function length(mm: number, system: System): string {
  return pair(system, `${significant(mm, 3)} mm`, `${significant(mm / 25.4, 3)} in`);
}

// As drills are sold.
export function drill(mm: number, system: System): string {
  return pair(system, `${significant(mm, 2)} mm`, `${significant(mm / 25.4, 2)} in`);
}

export function volume(mm3: number, system: System): string {
  const metric = mm3 >= 1e6 ? `${significant(mm3 / 1e6, 3)} L` : `${significant(mm3 / 1000, 3)} cm\u00b3`;
  return pair(system, metric, `${significant(mm3 / 16387.064, 3)} in\u00b3`);
}

export function area(mm2: number, system: System): string {
  return pair(system, `${significant(mm2 / 100, 3)} cm\u00b2`, `${significant(mm2 / 645.16, 3)} in\u00b2`);
}

export const KG_M3_PER_LB_FT3 = 0.45359237 / 0.3048 ** 3;

export function density(kg_m3: number, system: System): string {
  return pair(
    system,
    `${significant(kg_m3, 3)} kg/m\u00b3`,
    `${significant(kg_m3 / KG_M3_PER_LB_FT3, 3)} lb/ft\u00b3`,
  );
}

export function mass(grams: number, system: System): string {
  return pair(system, `${significant(grams, 3)} g`, `${significant(grams / 28.349523125, 3)} oz`);
}

export function temperature(celsius: number, system: System): string {
  return pair(
    system,
    `${significant(celsius, 3)} \u00b0C`,
    `${significant(celsius * 1.8 + 32, 3)} \u00b0F`,
  );
}

export function cup(ml: number, system: System): string {
  return pair(system, `${ml.toFixed(0)} mL`, `${significant(ml / 29.5735295625, 2)} US fl oz`);
}

export function pressure(kpa: number, system: System): string {
  return pair(system, `${significant(kpa, 2)} kPa`, `${significant(kpa / 6.894757293, 2)} psi`);
}

export function seconds(s: number): string {
  return `${significant(s, s < 10 ? 2 : 3)} s`;
}

export function minutes(s: number): string {
  return significant(s / 60, 2);
}
