// SPDX-License-Identifier: GPL-3.0-or-later
// What three's material does not do by itself, place by place of the surface: not yet reached by the foam, and which half of the mold touches it. Both are numbers at the
// vertices that the renderer carries on between them, so that an edge is a line and not teeth.
import { type Color, type MeshLambertMaterial } from "three";

const NOT_PLAYED = 1e30;

// One for all materials of a part.
export class SurfacePaint {
  private readonly risen = { value: NOT_PLAYED };
  private readonly parted = { value: false };

  constructor(
    private readonly plain: Color,
    private readonly halves: [lower: Color, upper: Color],
  ) {}

  // Plain where foam comes later than this; null: colored everywhere.
  risenTo(seconds: number | null): void {
    this.risen.value = seconds ?? NOT_PLAYED;
  }

  // Each half in its color.
  partedIn(on: boolean): void {
    this.parted.value = on;
  }

  // Needs the attributes `arrival` for risenTo and `side` for the others. `keep`: 1 shows the upper half's places alone, -1 the lower's, 0 all.
  on(material: MeshLambertMaterial, keep: -1 | 0 | 1): void {
    const [lower, upper] = this.halves;
    material.onBeforeCompile = (shader) => {
      Object.assign(shader.uniforms, { risen: this.risen, notYet: { value: this.plain }, keep: { value: keep }, parted: this.parted, lower: { value: lower }, upper: { value: upper } });
      shader.vertexShader = `attribute float arrival, side;\nvarying float vArrival, vSide;\n${shader.vertexShader.replace("#include <begin_vertex>", "#include <begin_vertex>\nvArrival = arrival;\nvSide = side;")}`;
      shader.fragmentShader = `uniform float risen, keep;\nuniform bool parted;\nuniform vec3 notYet, lower, upper;\nvarying float vArrival, vSide;\n${shader.fragmentShader.replace(
        "#include <color_fragment>",
        "#include <color_fragment>\nif (keep * vSide < 0.0) discard;\nif (parted) diffuseColor.rgb = vSide < 0.0 ? lower : upper;\nif (vArrival > risen) diffuseColor.rgb = notYet;",
      )}`;
    };
  }
}
