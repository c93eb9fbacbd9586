// SPDX-License-Identifier: GPL-3.0-or-later
// Liquid through the pour hole and air through a vent: follows lib/cavigram/venting/vent_flow.cpp.
const GRAVITY_M_S2 = 9.80665; // standard, by definition
const AIR = { density_kg_m3: 1.204, viscosity_pa_s: 1.81e-5 };
const DISCHARGE = 0.61;
const VENT = { drop_kpa: 0.1, least_mm: 2, drill_step_mm: 0.5 };

interface Fluid {
  density_kg_m3: number;
  viscosity_pa_s: number;
}

// Drop for each m3/s of slow flow, Pa s/m3.
function slowResistance(diameter_mm: number, length_mm: number, fluid: Fluid, ends: boolean): number {
  const d = diameter_mm * 1e-3;
  const tube = (128 * length_mm * 1e-3) / (Math.PI * d * d * d * d);
  return fluid.viscosity_pa_s * (tube + (ends ? 24 / (d * d * d) : 0));
}

// Drop for each (m3/s)^2 of the jet.
function jetResistance(diameter_mm: number, fluid: Fluid): number {
  const d = diameter_mm * 1e-3;
  const area = (DISCHARGE * Math.PI * d * d) / 4;
  return (0.5 * fluid.density_kg_m3) / (area * area);
}

export function pourFlow_ml_s(diameter_mm: number, length_mm: number, liquid: Fluid, above_mm: number): number {
  const drop = liquid.density_kg_m3 * GRAVITY_M_S2 * (above_mm + length_mm) * 1e-3;
  const slow = slowResistance(diameter_mm, length_mm, liquid, true);
  const jet = jetResistance(diameter_mm, liquid);
  return ((2 * drop) / (slow + Math.sqrt(slow * slow + 4 * jet * drop))) * 1e6;
}

// The next drill for a vent that passes all the air at the pressure that is allowed.
export function ventDrill_mm(growth_ml_s: number, length_mm: number): number {
  const flow = growth_ml_s * 1e-6;
  let low = Math.log(1e-6);
  let high = Math.log(1e6);
  let middle = 0.5 * (low + high);
  while (middle > low && middle < high) {
    const d = Math.exp(middle);
    const drop = flow * (slowResistance(d, length_mm, AIR, false) + flow * jetResistance(d, AIR));
    if (drop > VENT.drop_kpa * 1000) low = middle;
    else high = middle;
    middle = 0.5 * (low + high);
  }
  return Math.max(VENT.least_mm, VENT.drill_step_mm * Math.ceil(Math.exp(middle) / VENT.drill_step_mm));
}
