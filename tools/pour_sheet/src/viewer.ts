// SPDX-License-Identifier: GPL-3.0-or-later
// The part in 3D: as it stands for the pour, with its holes, a cut and the liquid's level. Draws
// only when something changed, so that a slow machine stays quiet.
import {
  AmbientLight,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  Color,
  ConeGeometry,
  CurvePath,
  CylinderGeometry,
  DirectionalLight,
  DoubleSide,
  Group,
  LineCurve3,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  OctahedronGeometry,
  OrthographicCamera,
  Plane,
  PlaneGeometry,
  Quaternion,
  Scene,
  TubeGeometry,
  Vector3,
  WebGLRenderer,
} from "three";
import type { Coloring, Display, Place, SheetLine, SheetMark } from "made/sheet_types";
import { bytesOf } from "./parts";
import { SurfacePaint } from "./surface_paint";

export type CutAxis = "none" | "left-right" | "front-back" | "height";

const PLAIN = new Color(0xc9c6bd);
const CUT = 0x8a5a44;
const LIQUID = 0x2f6f9f;
const FUNNEL = 0xfde725;
const ROD = 0x440154;
const DIAMOND = 0x21918c;
const PARTING = 0xd1495b;
const SLIT = 0xe09f3e;
const ARMATURE = 0x3b528b;
const APART = 0.22; // of the size, either way
const HALF_LABEL = 13; // pixels

export const vector = (p: Place) => new Vector3(p[0], p[1], p[2]);

function geometryOf(display: Display): BufferGeometry {
  const steps = new Uint16Array(bytesOf(display.positions).buffer);
  const positions = new Float32Array(steps.length);
  for (let i = 0; i < steps.length; ++i) {
    const k = i % 3;
    positions[i] =
      (display.origin_mm[k] as number) +
      ((steps[i] as number) / 65535) * (display.size_mm[k] as number);
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(new Uint32Array(bytesOf(display.indices).buffer), 1));
  geometry.computeVertexNormals();
  return geometry;
}

export class Viewer {
  readonly canvas: HTMLCanvasElement;
  private readonly labels: HTMLElement;
  protected readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  protected readonly camera = new OrthographicCamera(-1, 1, 1, -1, -1000, 1000);
  protected readonly stand = new Group(); // turns the part so that its up is the world's y
  protected readonly holder = new Group(); // puts the part's middle at the origin
  protected readonly marks = new Group();
  private readonly lines = new Group();
  private readonly halves = new Group(); // what each half of the mold touches, apart
  protected readonly whole = new Group();
  protected readonly geometry: BufferGeometry;
  protected readonly surface: MeshLambertMaterial;
  protected readonly inside: MeshBasicMaterial;
  private readonly sheets: MeshLambertMaterial[]; // of the lower half and the upper, seen from both sides
  private readonly level: Mesh;
  protected readonly cut = new Plane(new Vector3(0, -1, 0), 0);
  protected readonly size: number;
  protected readonly middle: Vector3;
  private shown: { mark: SheetMark; element: HTMLElement }[] = [];
  private readonly axes: { out: Vector3; element: HTMLElement }[] = []; // the file's own directions
  protected azimuth = 0.5;
  protected elevation = 0.35;
  private zoom = 1;
  private readonly paint: SurfacePaint;
  private apart: Vector3 | null = null; // how far the upper half is lifted
  protected fit = 1; // half the height that is shown, in mm, at zoom 1
  private readonly target = new Vector3();
  private waiting = false;

  // Throws where the browser has no WebGL.
  constructor(
    place: HTMLElement,
    protected readonly display: Display,
    description: string,
  ) {
    this.canvas = document.createElement("canvas");
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "img");
    this.canvas.setAttribute("aria-label", description);
    this.renderer = new WebGLRenderer({ canvas: this.canvas, antialias: true, alpha: true });
    this.renderer.localClippingEnabled = true;
    this.labels = document.createElement("div");
    this.labels.className = "labels";
    this.labels.setAttribute("aria-hidden", "true");
    place.append(this.canvas, this.labels);

    for (const [i, name] of ["x", "y", "z"].entries()) {
      for (const sign of [1, -1]) {
        const out = new Vector3().setComponent(i, sign * (0.5 * (display.size_mm[i] as number)));
        this.axes.push({ out, element: this.label("axis", `${sign > 0 ? "+" : "\u2212"}${name}`) });
      }
    }
    this.geometry = geometryOf(display);
    const size = vector(display.size_mm);
    this.size = size.length();
    this.middle = vector(display.origin_mm).addScaledVector(size, 0.5);
    this.surface = new MeshLambertMaterial({ color: PLAIN, vertexColors: false });
    this.inside = new MeshBasicMaterial({ color: CUT, side: BackSide });
    this.sheets = [0, 1].map(() => new MeshLambertMaterial({ color: PLAIN, side: DoubleSide }));
    this.paint = new SurfacePaint(PLAIN, [new Color(display.color_map[0] ?? 0), new Color(display.color_map[255] ?? 0)]);
    this.paint.on(this.surface, 0);
    const sides = this.sideOfVertices();
    this.sheets.forEach((material, i) => this.paint.on(material, !sides ? 0 : i === 1 ? 1 : -1));
    if (sides) this.geometry.setAttribute("side", new BufferAttribute(sides, 1));
    const part = new Mesh(this.geometry, this.surface);
    const back = new Mesh(this.geometry, this.inside);
    this.holder.position.copy(this.middle).negate();
    this.whole.add(part, back, this.lines);
    this.holder.add(this.whole, this.halves, this.marks);
    this.stand.add(this.holder);
    this.level = new Mesh(
      new PlaneGeometry(this.size * 1.1, this.size * 1.1).rotateX(-Math.PI / 2),
      new MeshBasicMaterial({
        color: LIQUID,
        transparent: true,
        opacity: 0.45,
        side: DoubleSide,
        depthWrite: false,
      }),
    );
    this.level.visible = false;
    const sun = new DirectionalLight(0xffffff, 2.2);
    sun.position.set(-0.4, 0.6, 0.7);
    this.camera.add(sun);
    this.scene.add(this.stand, this.level, this.camera, new AmbientLight(0xffffff, 1.3));
    this.listen();
    new ResizeObserver(() => {
      this.fitted();
      this.draw();
    }).observe(place);
  }

  // How the part stands: `up` upward, and `front` as far as it can toward the eye.
  stands(up: Place, front: Place): void {
    const y = vector(up).normalize();
    let z = vector(front).addScaledVector(y, -vector(front).dot(y));
    if (z.length() < 0.05) {
      z = Math.abs(y.y) < 0.9 ? new Vector3(0, -1, 0) : new Vector3(1, 0, 0);
      z.addScaledVector(y, -z.dot(y));
    }
    z.normalize();
    const x = new Vector3().crossVectors(y, z);
    const turn = new Quaternion().setFromRotationMatrix(new Matrix4().makeBasis(x, y, z)).invert();
    this.stand.quaternion.copy(turn);
    this.fitted();
    this.draw();
  }

  colored(coloring: Coloring | null): void {
    if (coloring) {
      const steps = bytesOf(coloring.values);
      const colors = new Uint8Array(3 * steps.length);
      const plain = PLAIN.getHex();
      steps.forEach((step, i) => {
        const rgb = coloring.plain_beyond && step === 255 ? plain : (this.display.color_map[step] ?? 0);
        colors.set([rgb >> 16, (rgb >> 8) & 255, rgb & 255], 3 * i);
      });
      const linear = new Float32Array(colors.length);
      for (let i = 0; i < colors.length; ++i) {
        const s = (colors[i] as number) / 255;
        linear[i] = s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
      }
      this.geometry.setAttribute("color", new BufferAttribute(linear, 3));
    }
    for (const material of [this.surface, ...this.sheets]) {
      material.vertexColors = coloring !== null;
      material.color.copy(coloring ? new Color(0xffffff) : PLAIN);
      material.needsUpdate = true;
    }
    this.paint.partedIn(coloring?.key === "halves" && this.geometry.hasAttribute("side"));
    if (coloring?.key === "halves") {
      // Apart, each is of one color up to its edge; vertices there belong to both.
      for (const [i, material] of this.sheets.entries()) {
        material.vertexColors = false;
        material.color.set(this.display.color_map[255 * i] ?? 0);
      }
    }
    for (const half of this.halves.children as Mesh[]) {
      const colors = this.geometry.getAttribute("color");
      if (colors) half.geometry.setAttribute("color", colors);
    }
    this.draw();
  }

  // When foam is at each vertex, for risenTo.
  arriving(seconds: Float32Array): void {
    this.geometry.setAttribute("arrival", new BufferAttribute(seconds, 1));
  }

  // Colors only where foam is by then; null: everywhere.
  risenTo(seconds: number | null): void {
    this.paint.risenTo(seconds);
    this.draw();
  }

  // `share` of the way along the axis, as the part stands: 0 leaves nothing, 1 everything.
  cutAt(axis: CutAxis, share: number): void {
    const planes = axis === "none" ? [] : [this.cut];
    if (axis !== "none") {
      const normal = { "left-right": [1, 0, 0], "front-back": [0, 0, 1], height: [0, 1, 0] }[axis];
      const along = vector(normal as Place);
      const [low, high] = this.extent(along);
      this.cut.normal.copy(along).negate();
      this.cut.constant = low + share * (high - low);
    }
    this.surface.clippingPlanes = planes;
    for (const material of this.sheets) material.clippingPlanes = planes;
    this.inside.clippingPlanes = planes;
    this.draw();
  }

  // Height of the liquid above the lowest point, as the part stands; null: not shown.
  liquidAt(depth_mm: number | null): void {
    this.level.visible = depth_mm !== null;
    if (depth_mm !== null) {
      this.level.position.y = this.extent(new Vector3(0, 1, 0))[0] + depth_mm;
    }
    this.draw();
  }

  markedWith(marks: SheetMark[], up: Place): void {
    this.marks.clear();
    for (const { element } of this.shown) element.remove();
    const length = 0.06 * this.size;
    const turn = new Quaternion().setFromUnitVectors(new Vector3(0, 1, 0), vector(up).normalize());
    this.shown = marks.map((mark) => {
      const solid = this.solidOf(mark, length);
      solid.quaternion.copy(turn);
      solid.position.copy(vector(mark.at_mm));
      this.marks.add(solid);
      return { mark, element: this.label(`mark ${mark.kind}`, mark.label) };
    });
    this.draw();
  }

  // The parting line on the part, the slit of a mold of one piece, and a rod in it, seen through the
  // foam.
  linedWith(lines: SheetLine[]): void {
    for (const line of lines) {
      const rod = line.kind === "rod";
      const corners = line.closed ? [...line.points_mm, line.points_mm[0] as Place] : line.points_mm;
      const path = new CurvePath<Vector3>();
      for (let i = 1; i < corners.length; ++i) path.add(new LineCurve3(vector(corners[i - 1] as Place), vector(corners[i] as Place)));
      const radius = rod ? 0.5 * line.diameter_mm : 0.0025 * this.size;
      const tube = new TubeGeometry(path, rod ? 16 * corners.length : Math.min(4000, 2 * corners.length), radius, rod ? 12 : 6);
      const solid = new Mesh(tube, new MeshBasicMaterial({ color: rod ? ARMATURE : line.kind === "slit" ? SLIT : PARTING, depthTest: !rod }));
      if (rod) solid.renderOrder = 1;
      this.lines.add(solid);
    }
    this.draw();
  }

  // The surface in two, as the halves of the mold touch it, pulled apart; null: whole.
  openedAlong(pull: Place | null): void {
    this.halves.clear();
    this.whole.visible = pull === null;
    this.marks.visible = pull === null;
    this.labels.classList.toggle("no-marks", pull !== null);
    this.apart = pull && vector(pull).setLength(APART * this.size);
    if (this.apart) {
      for (const [i, own] of this.cornersOfHalves().entries()) {
        const half = new BufferGeometry();
        for (const name of ["position", "normal", "color", "arrival", "side"]) {
          const attribute = this.geometry.getAttribute(name);
          if (attribute) half.setAttribute(name, attribute);
        }
        half.setIndex(own);
        const sheet = new Mesh(half, this.sheets[i]);
        sheet.position.copy(this.apart).multiplyScalar(i === 1 ? 1 : -1);
        this.halves.add(sheet);
      }
    }
    this.fitted();
    this.draw();
  }

  // Brings a place of the part to the middle, seen from its own side.
  lookAt(at_mm: Place): void {
    const world = vector(at_mm).sub(this.middle).applyQuaternion(this.stand.quaternion);
    const flat = Math.hypot(world.x, world.z);
    if (flat > 1e-6 * this.size) this.azimuth = Math.atan2(world.x, world.z);
    this.elevation = Math.max(-1.2, Math.min(1.2, Math.atan2(world.y, Math.max(flat, 1e-9)) * 0.6));
    this.target.copy(world);
    this.zoom = 2.5;
    this.draw();
  }

  seenFrom(azimuth: number, elevation: number): void {
    this.azimuth = azimuth;
    this.elevation = elevation;
    this.zoom = 1;
    this.target.set(0, 0, 0);
    this.fitted();
    this.draw();
  }

  turn(right: number, up: number): void {
    this.azimuth -= right;
    this.elevation = Math.max(-1.57, Math.min(1.57, this.elevation + up));
    this.draw();
  }

  zoomBy(factor: number): void {
    this.zoom = Math.max(0.5, Math.min(20, this.zoom * factor));
    this.draw();
  }

  draw(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.render();
    });
  }

  // The front lies between vertices, so each pixel asks for itself.
  // Where the halves part across triangles: above 0 on the upper one's side.
  private sideOfVertices(): Float32Array | null {
    if (this.display.half_side === "") return null;
    return Float32Array.from(new Int16Array(bytesOf(this.display.half_side).buffer));
  }

  // The triangles that the lower half and the upper touch; those that both touch are in either.
  private cornersOfHalves(): [number[], number[]] {
    const index = (this.geometry.index as BufferAttribute).array;
    const upper = bytesOf(this.display.halves);
    const side = this.sideOfVertices();
    const corners: [number[], number[]] = [[], []];
    for (let t = 0; t < upper.length; ++t) {
      const own = [0, 1, 2].map((k) => index[3 * t + k] as number);
      const sides = side ? own.map((v) => side[v] as number) : upper[t] === 1 ? [1] : [-1];
      if (Math.min(...sides) < 0) corners[0].push(...own);
      if (Math.max(...sides) >= 0) corners[1].push(...own);
    }
    return corners;
  }

  private label(kind: string, text: string): HTMLElement {
    const element = document.createElement("span");
    element.className = kind;
    element.textContent = text;
    this.labels.append(element);
    return element;
  }

  private solidOf(mark: SheetMark, length: number): Mesh {
    if (mark.kind === "pour_hole") {
      const funnel = new ConeGeometry(0.4 * length, length, 24)
        .rotateX(Math.PI)
        .translate(0, 0.5 * length, 0);
      return new Mesh(funnel, new MeshLambertMaterial({ color: FUNNEL }));
    }
    if (mark.kind === "vent") {
      const radius = Math.max(0.5 * mark.diameter_mm, 0.1 * length);
      const rod = new CylinderGeometry(radius, radius, 1.4 * length, 16).translate(0, 0.7 * length, 0);
      return new Mesh(rod, new MeshLambertMaterial({ color: ROD }));
    }
    const diamond = new OctahedronGeometry(0.18 * length);
    return new Mesh(diamond, new MeshLambertMaterial({ color: DIAMOND }));
  }

  protected away(): Vector3 {
    return new Vector3(
      Math.sin(this.azimuth) * Math.cos(this.elevation),
      Math.sin(this.elevation),
      Math.cos(this.azimuth) * Math.cos(this.elevation),
    );
  }

  // So that the part fills the stage as it is seen now, with room for the marks above it.
  protected fitted(): void {
    const right = new Vector3(Math.cos(this.azimuth), 0, -Math.sin(this.azimuth));
    const up = new Vector3().crossVectors(this.away(), right);
    const lifted = this.apart?.clone().applyQuaternion(this.stand.quaternion);
    const half = (along: Vector3) => Math.max(...this.extent(along).map(Math.abs)) + Math.abs(lifted?.dot(along) ?? 0);
    const place = this.canvas.parentElement;
    const aspect = (place?.clientWidth || 1) / (place?.clientHeight || 1);
    this.fit = Math.max(half(up) + 0.14 * this.size, half(right) / aspect + 0.06 * this.size);
  }

  protected extent(along: Vector3): [number, number] {
    const local = along.clone().applyQuaternion(this.stand.quaternion.clone().invert());
    const positions = this.geometry.getAttribute("position");
    let low = Infinity;
    let high = -Infinity;
    const p = new Vector3();
    for (let i = 0; i < positions.count; ++i) {
      const t = p.fromBufferAttribute(positions, i).sub(this.middle).dot(local);
      low = Math.min(low, t);
      high = Math.max(high, t);
    }
    return [low, high];
  }

  protected render(): void {
    const width = this.canvas.parentElement?.clientWidth ?? 0;
    const height = this.canvas.parentElement?.clientHeight ?? 0;
    if (width === 0 || height === 0) return;
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio));
    this.renderer.setSize(width, height, true);
    const h = this.fit / this.zoom;
    const w = (h * width) / height;
    Object.assign(this.camera, { left: -w, right: w, top: h, bottom: -h });
    this.camera.near = -2 * this.size;
    this.camera.far = 2 * this.size;
    const away = this.away();
    // Straight from above the paper's up is away from the front.
    this.camera.up.set(0, 1, 0);
    if (Math.abs(away.y) > 0.999) {
      this.camera.up.set(-Math.sin(this.azimuth), 0, -Math.cos(this.azimuth)).multiplyScalar(
        Math.sign(away.y),
      );
    }
    this.camera.position.copy(this.target).addScaledVector(away, this.size);
    this.camera.lookAt(this.target);
    this.camera.updateProjectionMatrix();
    this.renderer.render(this.scene, this.camera);
    this.placeLabels(width, height);
  }

  // Each where its place is seen, or above whatever label is there already.
  private placeLabels(width: number, height: number): void {
    const taken: [number, number][] = [];
    const put = (element: HTMLElement, p: Vector3) => {
      p.project(this.camera);
      const x = Math.max(HALF_LABEL, Math.min(width - HALF_LABEL, (0.5 + 0.5 * p.x) * width));
      let y = Math.max(HALF_LABEL, Math.min(height - HALF_LABEL, (0.5 - 0.5 * p.y) * height));
      const hits = () => taken.some(([u, v]) => Math.abs(u - x) < 2 * HALF_LABEL && Math.abs(v - y) < 2 * HALF_LABEL);
      while (hits() && y > 2 * HALF_LABEL) y -= HALF_LABEL;
      taken.push([x, y]);
      element.style.left = `${x}px`;
      element.style.top = `${y}px`;
    };
    const turned = (p: Vector3) => p.applyQuaternion(this.stand.quaternion);
    for (const { mark, element } of this.shown) {
      const p = turned(vector(mark.at_mm).sub(this.middle));
      if (mark.kind === "pour_hole" || mark.kind === "vent") p.y += 0.1 * this.size;
      put(element, p);
    }
    const away = this.away();
    for (const { out, element } of this.axes) {
      const p = turned(out.clone());
      const along = p.clone().normalize();
      // One that points to the eye or away from it would lie on the part.
      element.hidden = Math.abs(along.dot(away)) > 0.8;
      if (!element.hidden) put(element, p.addScaledVector(along, 0.05 * this.size));
    }
  }

  private listen(): void {
    const canvas = this.canvas;
    const pointers = new Map<number, { x: number; y: number }>();
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    });
    const lift = (event: PointerEvent) => pointers.delete(event.pointerId);
    canvas.addEventListener("pointerup", lift);
    canvas.addEventListener("pointercancel", lift);
    canvas.addEventListener("pointermove", (event) => {
      const before = pointers.get(event.pointerId);
      if (!before) return;
      const now = { x: event.clientX, y: event.clientY };
      if (pointers.size === 2) {
        const other = [...pointers].find(([id]) => id !== event.pointerId)?.[1] ?? now;
        const apart = (p: { x: number; y: number }) => Math.hypot(p.x - other.x, p.y - other.y);
        this.zoomBy(apart(now) / Math.max(1, apart(before)));
      } else {
        this.turn((now.x - before.x) * 0.008, (now.y - before.y) * 0.008);
      }
      pointers.set(event.pointerId, now);
    });
    canvas.addEventListener(
      "wheel",
      (event) => {
        // Only once the part has the focus, so that the page can be scrolled past it.
        if (document.activeElement !== canvas) return;
        event.preventDefault();
        this.zoomBy(Math.exp(-0.001 * event.deltaY));
      },
      { passive: false },
    );
    const keys: Record<string, () => void> = {
      ArrowLeft: () => this.turn(-0.1, 0),
      ArrowRight: () => this.turn(0.1, 0),
      ArrowUp: () => this.turn(0, 0.1),
      ArrowDown: () => this.turn(0, -0.1),
      "+": () => this.zoomBy(1.2),
      "=": () => this.zoomBy(1.2),
      "-": () => this.zoomBy(1 / 1.2),
      Home: () => this.seenFrom(0.5, 0.35),
    };
    canvas.addEventListener("keydown", (event) => {
      const act = keys[event.key];
      if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      act();
    });
  }
}
