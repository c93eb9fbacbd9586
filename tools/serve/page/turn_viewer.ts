// SPDX-License-Identifier: GPL-3.0-or-later
// The part in its mold: a drag or a key turns the part, not the eye, so that up on the screen is up
// while the foam rises. Trapped air is drawn as the part's own surface above each pocket's level,
// with a flat color where that level is looked at from below.
import {
  BackSide,
  Box3,
  Box3Helper,
  BufferAttribute,
  BufferGeometry,
  CanvasTexture,
  Color,
  CylinderGeometry,
  DoubleSide,
  FrontSide,
  Group,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  Plane,
  Quaternion,
  Raycaster,
  SphereGeometry,
  SRGBColorSpace,
  Vector2,
  Vector3,
} from "three";
import type { Display, Place, PocketShape, TurnedAir } from "made/sheet_types";
import { bytesOf } from "../../pour_sheet/src/parts";
import { Viewer, vector } from "../../pour_sheet/src/viewer";
import { type Layers, densityAt, feltTo, section } from "./section";

export const STAYS = 0xd1495b;
export const LEAVES = 0x9cc4e4;
const LEVEL = 0x8c1f30; // of what stays, from below
const LEVEL_LEAVES = 0x5f8fb5;
const SHOWN_SIDE = 0x35a79c;
const RULER = 0x1c1b19;
const PLAIN = new Color(0xc9c6bd);
const UP = new Vector3(0, 1, 0);
const ACROSS = new Vector3(1, 0, 0);
const MOST_DRAWN = 100; // pockets; smaller ones than these nobody sees
const SECTION_PIXELS = 320;

export interface Hit {
  at_mm: Place;
  vertex: number; // the nearest corner of what is shown
}

const place = (v: Vector3): Place => [v.x, v.y, v.z];

export class TurnViewer extends Viewer {
  // The way up, whenever it changes.
  turned: (up: Place) => void = () => {};
  // After each picture.
  drawn: () => void = () => {};
  private readonly air = new Group();
  private readonly tools = new Group();
  private levels: { plane: Plane; up: Vector3; level_mm: number }[] = [];
  // How it is planned to stand, and its front: where the key Home goes.
  home: [Place, Place] | null = null;
  private sliced: { way: Vector3; at_mm: number } | null = null; // what lies along `way` up to there is kept
  private layers: { foam: Layers; dark: number; light: number } | null = null;
  private readonly frame = new Box3Helper(new Box3(), SHOWN_SIDE); // what is given as a box
  private readonly quad: Mesh<BufferGeometry, MeshBasicMaterial>;
  private cutting: ReturnType<typeof setTimeout> | null = null;
  private around: { first: Uint32Array; next: Uint32Array } | null = null;

  constructor(at: HTMLElement, display: Display, description: string) {
    super(at, display, description);
    this.canvas.removeAttribute("role"); // it is worked with, not only looked at
    this.canvas.setAttribute("role", "application");
    this.azimuth = 0;
    this.elevation = 0.2;
    // The part's own surface lies behind what is drawn on it, and air within shows through.
    Object.assign(this.surface, { transparent: true, opacity: 0.5, depthWrite: false, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    this.inside.visible = false;
    this.quad = new Mesh(new BufferGeometry(), new MeshBasicMaterial({ side: DoubleSide, transparent: true, alphaTest: 0.5, polygonOffset: true, polygonOffsetFactor: -2, polygonOffsetUnits: -2 }));
    this.quad.visible = false;
    this.frame.visible = false;
    this.holder.add(this.air, this.tools, this.frame, this.quad);
    this.fitted();
  }

  // ---- how it stands ------------------------------------------------------------------------------

  get up(): Place {
    return place(UP.clone().applyQuaternion(this.stand.quaternion.clone().invert()));
  }

  startsAs(up: Place, front: Place): void {
    this.stands(up, front);
    this.moved();
  }

  override turn(right: number, up: number): void {
    const turn = new Quaternion().setFromAxisAngle(ACROSS, up).multiply(new Quaternion().setFromAxisAngle(UP, right));
    this.stand.quaternion.premultiply(turn).normalize();
    this.moved();
  }

  // The shortest way to another way up.
  upright(up: Place): void {
    const now = vector(up).normalize().applyQuaternion(this.stand.quaternion);
    this.stand.quaternion.premultiply(new Quaternion().setFromUnitVectors(now, UP)).normalize();
    this.moved();
  }

  // The key Home of the viewer.
  override seenFrom(): void {
    this.zoom1();
    if (this.home) this.startsAs(...this.home);
  }

  // However it is turned, it keeps its size on the screen.
  protected override fitted(): void {
    const parent = this.canvas.parentElement;
    const aspect = (parent?.clientWidth || 1) / (parent?.clientHeight || 1);
    this.fit = (0.56 * this.size) / Math.min(1, aspect);
  }

  protected override render(): void {
    super.render();
    this.drawn();
  }

  private zoom1(): void {
    this.zoomBy(1e-9);
    this.zoomBy(2); // from the least to one
  }

  private moved(): void {
    for (const one of this.levels) this.leveled(one);
    this.plane();
    this.turned(this.up);
    this.draw();
  }

  // ---- air ------------------------------------------------------------------------------------------

  airOf(air: TurnedAir, leaving: boolean): void {
    for (const one of this.air.children as Mesh[]) {
      // Its vertices are the part's own, and stay.
      for (const name of ["position", "normal"]) one.geometry.deleteAttribute(name);
      one.geometry.dispose();
      (one.material as MeshBasicMaterial).dispose();
    }
    this.air.clear();
    this.levels = [];
    const up = vector(air.up);
    const draw = (shapes: PocketShape[], color: number, flat: number, order: number) => {
      for (const shape of shapes.filter((one) => one.triangles !== "").slice(0, MOST_DRAWN)) this.pocket(shape, up, color, flat, order);
    };
    if (leaving) draw(air.unvented, LEAVES, LEVEL_LEAVES, 0);
    draw(air.left, STAYS, LEVEL, 1);
    this.clipAir();
    this.draw();
  }

  private pocket(shape: PocketShape, up: Vector3, color: number, flat: number, order: number): void {
    const triangles = new Int32Array(bytesOf(shape.triangles).buffer);
    const all = this.geometry.index as BufferAttribute;
    const own = new Uint32Array(3 * triangles.length);
    triangles.forEach((t, i) => own.set((all.array as Uint32Array).subarray(3 * t, 3 * t + 3), 3 * i));
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", this.geometry.getAttribute("position"));
    geometry.setAttribute("normal", this.geometry.getAttribute("normal"));
    geometry.setIndex(new BufferAttribute(own, 1));
    const one = { plane: new Plane(UP.clone(), 0), up, level_mm: shape.level_mm };
    this.leveled(one);
    this.levels.push(one);
    const look = { clippingPlanes: [one.plane], polygonOffset: true, polygonOffsetFactor: -order, polygonOffsetUnits: -order };
    // Seen from below, the inner side in one color is the level itself: nothing is between them.
    const mesh = new Mesh(geometry, new MeshLambertMaterial({ color, side: FrontSide, ...look }));
    const under = new Mesh(geometry, new MeshBasicMaterial({ color: flat, side: BackSide, ...look }));
    mesh.renderOrder = under.renderOrder = -2 + order;
    this.air.add(mesh, under);
  }

  // The level of a pocket turns with the part until the next answer is there.
  private leveled(one: { plane: Plane; up: Vector3; level_mm: number }): void {
    one.plane.normal.copy(one.up).applyQuaternion(this.stand.quaternion);
    one.plane.constant = one.up.dot(this.middle) - one.level_mm;
  }

  // ---- places -----------------------------------------------------------------------------------------

  // What lies there on the screen, in shares of the stage from its upper left.
  hit(x: number, y: number): Hit | null {
    const ray = new Raycaster();
    this.stand.updateMatrixWorld(true);
    this.camera.updateMatrixWorld(true);
    ray.setFromCamera(new Vector2(2 * x - 1, 1 - 2 * y), this.camera);
    const found = ray.intersectObject(this.whole.children[0] as Mesh, false).find((one) => !this.sliced || this.cut.distanceToPoint(one.point) >= 0);
    if (!found?.face) return null;
    const at = this.holder.worldToLocal(found.point.clone());
    const positions = this.geometry.getAttribute("position");
    let vertex = found.face.a;
    let least = Infinity;
    for (const one of [found.face.a, found.face.b, found.face.c]) {
      const far = new Vector3().fromBufferAttribute(positions, one).distanceToSquared(at);
      if (far < least) [least, vertex] = [far, one];
    }
    return { at_mm: place(at), vertex };
  }

  // The highest place that can be climbed to from there, without going down by more than noise does:
  // where air that is caught there gathers. On a level place it stays where it is.
  topFrom(hit: Hit): Place {
    const { first, next } = (this.around ??= this.neighbors());
    const positions = this.geometry.getAttribute("position");
    const up = vector(this.up);
    const p = new Vector3();
    const height = (v: number) => p.fromBufferAttribute(positions, v).dot(up);
    const rings = 3; // of neighbors looked over at once: a scan's noise is no top
    let at = hit.vertex;
    for (let climbed = true; climbed; ) {
      climbed = false;
      const seen = new Set([at]);
      let ring = [at];
      let best = at;
      for (let r = 0; r < rings; ++r) {
        const wider: number[] = [];
        for (const v of ring) {
          for (let i = first[v] as number; i < (first[v + 1] as number); ++i) {
            const other = next[i] as number;
            if (seen.has(other)) continue;
            seen.add(other);
            wider.push(other);
            if (height(other) > height(best) + 1e-9) best = other;
          }
        }
        ring = wider;
      }
      climbed = best !== at;
      at = best;
    }
    const level = 0.002 * this.size;
    return height(at) - vector(hit.at_mm).dot(up) < level ? hit.at_mm : place(new Vector3().fromBufferAttribute(positions, at));
  }

  // Colors the side that is seen; null: none.
  seen(inside: ((at: Vector3, normal: Vector3) => boolean) | null, box: Box3 | null): void {
    this.frame.visible = box !== null;
    if (box) this.frame.box.copy(box);
    const positions = this.geometry.getAttribute("position");
    const normals = this.geometry.getAttribute("normal");
    if (inside) {
      const colors = new Float32Array(3 * positions.count);
      const [p, n, seen] = [new Vector3(), new Vector3(), new Color(SHOWN_SIDE)];
      for (let v = 0; v < positions.count; ++v) {
        const color = inside(p.fromBufferAttribute(positions, v), n.fromBufferAttribute(normals, v)) ? seen : PLAIN;
        color.toArray(colors, 3 * v);
      }
      this.geometry.setAttribute("color", new BufferAttribute(colors, 3));
    }
    this.surface.vertexColors = inside !== null;
    this.surface.color.copy(inside ? new Color(0xffffff) : PLAIN);
    this.surface.needsUpdate = true;
    this.draw();
  }

  ruled(places: Place[]): void {
    this.tools.clear();
    const material = new MeshBasicMaterial({ color: RULER, depthTest: false, transparent: true });
    const thick = 0.004 * this.size;
    for (const at of places) {
      const dot = new Mesh(new SphereGeometry(2.2 * thick, 12, 8), material);
      dot.position.copy(vector(at));
      this.tools.add(dot);
    }
    const [a, b] = places;
    if (a && b) {
      const way = vector(b).sub(vector(a));
      const rod = new Mesh(new CylinderGeometry(thick, thick, way.length(), 8), material);
      rod.position.copy(vector(a)).addScaledVector(way, 0.5);
      rod.quaternion.setFromUnitVectors(UP, way.normalize());
      this.tools.add(rod);
    }
    for (const one of this.tools.children) one.renderOrder = 3;
    this.draw();
  }

  // ---- a cut --------------------------------------------------------------------------------------------

  // What skin and core are, and the ends of their colors; null: not known.
  madeOf(layers: { foam: Layers; dark: number; light: number } | null): void {
    this.layers = layers;
    this.later();
  }

  // Across one of the part's own directions, so that the cut turns with it; -1: whole. Of the two
  // sides the one is left whose cut is seen as the part stands.
  cutAcross(axis: number, share: number): void {
    const way = axis < 0 ? null : new Vector3().setComponent(axis, 1);
    if (way) {
      const [low, size] = [this.display.origin_mm[axis] as number, this.display.size_mm[axis] as number];
      const kept = this.sliced && Math.abs(this.sliced.way.getComponent(axis)) === 1 ? this.sliced.way.getComponent(axis) : way.clone().applyQuaternion(this.stand.quaternion).dot(this.away());
      way.multiplyScalar(kept < 0 ? -1 : 1);
      this.sliced = { way, at_mm: (low + share * size) * way.getComponent(axis) };
    } else {
      this.sliced = null;
    }
    const planes = way ? [this.cut] : [];
    this.surface.clippingPlanes = this.inside.clippingPlanes = planes;
    this.inside.visible = way !== null;
    this.surface.opacity = way ? 0.8 : 0.5;
    this.clipAir();
    this.plane();
    this.quad.visible = false;
    this.later();
    this.draw();
  }

  private clipAir(): void {
    for (const mesh of this.air.children as Mesh[]) {
      const material = mesh.material as MeshBasicMaterial;
      material.clippingPlanes = [material.clippingPlanes?.[0] as Plane, ...(this.sliced ? [this.cut] : [])];
    }
  }

  private plane(): void {
    if (!this.sliced) return;
    this.cut.normal.copy(this.sliced.way).applyQuaternion(this.stand.quaternion).negate();
    this.cut.constant = this.sliced.at_mm - this.sliced.way.dot(this.middle);
  }

  // Once the slider rests: it takes longer than a picture.
  private later(): void {
    if (this.cutting) clearTimeout(this.cutting);
    this.cutting = this.sliced && this.layers ? setTimeout(() => this.sectioned(), 120) : null;
  }

  private sectioned(): void {
    const { layers, sliced } = this;
    if (!layers || !sliced) return;
    const w = sliced.way.clone();
    const u = (Math.abs(w.y) < 0.9 ? UP : ACROSS).clone().cross(w).normalize();
    const v = w.clone().cross(u);
    const positions = this.geometry.getAttribute("position");
    const places = new Float32Array(3 * positions.count);
    const p = new Vector3();
    for (let i = 0; i < positions.count; ++i) {
      p.fromBufferAttribute(positions, i);
      places.set([p.dot(u), p.dot(v), p.dot(w) - sliced.at_mm], 3 * i);
    }
    const found = section(places, (this.geometry.index as BufferAttribute).array, feltTo(layers.foam), SECTION_PIXELS);
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [found.across, found.down];
    const context = canvas.getContext("2d") as CanvasRenderingContext2D;
    const image = context.createImageData(found.across, found.down);
    found.depth_mm.forEach((depth, at) => {
      if (depth < 0) return;
      const step = Math.round((255 * (densityAt(layers.foam, depth) - layers.dark)) / (layers.light - layers.dark || 1));
      const rgb = this.display.color_map[Math.max(0, Math.min(255, step))] ?? 0;
      // A texture's first row is its lowest.
      const to = 4 * ((found.down - 1 - Math.floor(at / found.across)) * found.across + (at % found.across));
      image.data.set([rgb >> 16, (rgb >> 8) & 255, rgb & 255, 255], to);
    });
    context.putImageData(image, 0, 0);
    const texture = new CanvasTexture(canvas);
    texture.colorSpace = SRGBColorSpace;
    const corner = (x: number, y: number) =>
      u.clone().multiplyScalar(found.low[0] + x * found.across * found.pixel_mm)
        .addScaledVector(v, found.low[1] + y * found.down * found.pixel_mm).addScaledVector(w, sliced.at_mm);
    this.quad.geometry.dispose();
    this.quad.geometry = new BufferGeometry().setFromPoints([corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)]);
    this.quad.geometry.setAttribute("uv", new BufferAttribute(new Float32Array([0, 0, 1, 0, 1, 1, 0, 1]), 2));
    this.quad.geometry.setIndex([0, 1, 2, 0, 2, 3]);
    this.quad.material.map?.dispose();
    this.quad.material.map = texture;
    this.quad.material.needsUpdate = true;
    this.quad.visible = true;
    this.canvas.dataset.section = `${found.across} by ${found.down}`;
    this.draw();
  }

  // Browsers have few drawing contexts; a part that is left lets go of its own.
  dispose(): void {
    if (this.cutting) clearTimeout(this.cutting);
    this.renderer.dispose();
    this.renderer.forceContextLoss();
    this.canvas.parentElement?.replaceChildren();
  }

  private neighbors(): { first: Uint32Array; next: Uint32Array } {
    const index = (this.geometry.index as BufferAttribute).array;
    const first = new Uint32Array(this.geometry.getAttribute("position").count + 2);
    for (let i = 0; i < index.length; ++i) first[(index[i] as number) + 2] = (first[(index[i] as number) + 2] as number) + 2;
    for (let v = 2; v < first.length; ++v) first[v] = (first[v] as number) + (first[v - 1] as number);
    const next = new Uint32Array(first[first.length - 1] as number);
    const put = (v: number, other: number) => {
      next[first[v + 1] as number] = other;
      first[v + 1] = (first[v + 1] as number) + 1;
    };
    for (let t = 0; t < index.length; t += 3) {
      for (let k = 0; k < 3; ++k) {
        put(index[t + k] as number, index[t + ((k + 1) % 3)] as number);
        put(index[t + k] as number, index[t + ((k + 2) % 3)] as number);
      }
    }
    return { first, next };
  }
}
