// The stage on which a cloth is shown: camera, light, turning, and which stitch is under the pointer.
//
// Loaded only when a cloth is looked at, since it brings three.js with it. Draws only when something changed.

import {
  AmbientLight,
  Box3,
  BufferAttribute,
  type BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  Mesh,
  MeshStandardMaterial,
  PerspectiveCamera,
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from 'three';
import { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import type { Range } from '../../api/types';
import { type Drawn, Yarn } from './yarn';

/** How far one press of an arrow key turns, in radians. */
const TURN = Math.PI / 18;
const NEARER = 0.85;
/** Where the yarn takes longer than this to draw, the surface stands in for it until the cloth is at rest. */
const SMOOTH_MS = 40;
const REST_MS = 200;

export class Stage {
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #camera = new PerspectiveCamera(30, 1, 0.001, 100);
  readonly #controls: OrbitControls;
  readonly #light = new DirectionalLight(0xffffff, 2.4);
  #cloth: Mesh<BufferGeometry, MeshStandardMaterial> | undefined;
  #plain: Uint8ClampedArray | undefined;
  #yarn: Yarn | undefined;
  /** Whether the yarn is too slow to be turned smoothly here. */
  #slow = false;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #size = 1;
  #asked = 0;

  /** Fails where the browser has no WebGL. */
  constructor(readonly canvas: HTMLCanvasElement) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
    this.#controls = new OrbitControls(this.#camera, canvas);
    this.#controls.addEventListener('change', () => this.#draw());
    this.#scene.add(new AmbientLight(0xffffff, 0.75), this.#camera);
    this.#camera.add(this.#light);
    this.#light.position.set(-0.9, 1.1, 0.5);
  }

  /** Puts a cloth on the stage in place of the one before; it is looked at as that was. */
  async show(glb: ArrayBuffer): Promise<void> {
    const { scene } = await new GLTFLoader().parseAsync(glb, '');
    const mesh = scene.getObjectByProperty('isMesh', true) as Mesh<BufferGeometry> | undefined;
    if (!mesh) return;
    this.#clear();
    const material = new MeshStandardMaterial({ vertexColors: true, side: DoubleSide, roughness: 0.95 });
    this.#cloth = new Mesh(mesh.geometry, material);
    this.#plain = Uint8ClampedArray.from(colours(mesh.geometry));
    this.#scene.add(this.#cloth);
    this.#draw();
  }

  /** Shows the yarn in place of the surface; the surface again where there is none to show. */
  async showYarn(glb: ArrayBuffer | null): Promise<void> {
    const line = glb && (await new GLTFLoader().parseAsync(glb, '')).scene.getObjectByName('yarn');
    this.#clearYarn();
    if (line && 'geometry' in line) {
      this.#yarn = new Yarn(line.geometry as BufferGeometry, line.userData as Drawn);
      this.#scene.add(this.#yarn.mesh);
    }
    this.#see('yarn');
    this.#slow = this.#yarn !== undefined && this.#drawingTime() > SMOOTH_MS;
    this.#draw();
  }

  /** Looks at the right or the wrong side, the whole cloth in sight. */
  face(side: 'right' | 'wrong'): void {
    if (!this.#cloth) return;
    const box = new Box3().setFromObject(this.#cloth);
    const middle = box.getCenter(new Vector3());
    const size = box.getSize(new Vector3());
    const aspect = this.#camera.aspect;
    this.#size = Math.max(size.y, size.x / aspect, 1e-3);
    const distance = (this.#size / 2 / Math.tan((this.#camera.fov * Math.PI) / 360)) * 1.12 + size.z;
    this.#controls.target.copy(middle);
    this.#camera.position.copy(middle).add(new Vector3(0, 0, side === 'right' ? distance : -distance));
    this.#camera.near = distance / 100;
    this.#camera.far = distance * 10;
    this.#camera.updateProjectionMatrix();
    this.#controls.update();
    this.#draw();
  }

  resize(width: number, height: number): void {
    if (width === 0 || height === 0) return;
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.#renderer.setSize(width, height, false);
    this.#camera.aspect = width / height;
    this.#camera.updateProjectionMatrix();
    this.#draw();
  }

  /** Lights the stitches of a range, counted through the piece. */
  light(range: Range | null, colour: string): void {
    const stitches = this.#cloth?.geometry.getAttribute('_stitch');
    if (!this.#cloth || !this.#plain || !stitches) return;
    const painted = Float32Array.from(this.#plain, (value) => value / 255);
    const lit = new Color(colour);
    for (let i = 0; i < stitches.count; i++) {
      const stitch = stitches.getX(i);
      if (range && range[0] <= stitch && stitch < range[1]) painted.set([lit.r, lit.g, lit.b], i * 3);
    }
    this.#cloth.geometry.setAttribute('color', new BufferAttribute(painted, 3));
    this.#yarn?.light(range, lit);
    this.#draw();
  }

  /** The stitch under a point of the canvas, counted through the piece. */
  stitchAt(x: number, y: number): number | null {
    const stitches = this.#cloth?.geometry.getAttribute('_stitch');
    if (!this.#cloth || !stitches) return null;
    const { clientWidth, clientHeight } = this.canvas;
    const ray = new Raycaster();
    ray.setFromCamera(new Vector2((x / clientWidth) * 2 - 1, 1 - (y / clientHeight) * 2), this.#camera);
    const hit = ray.intersectObject(this.#cloth)[0];
    const stitch = hit?.face ? stitches.getX(hit.face.a) : -1;
    return stitch < 0 ? null : stitch;
  }

  /** Turns, or comes nearer; false for a key that means nothing here. */
  key(key: string): boolean {
    const turns: Record<string, [number, number]> = {
      ArrowLeft: [-TURN, 0],
      ArrowRight: [TURN, 0],
      ArrowUp: [0, -TURN],
      ArrowDown: [0, TURN],
    };
    const offset = this.#camera.position.clone().sub(this.#controls.target);
    const turn = turns[key];
    if (turn) {
      offset.applyAxisAngle(this.#camera.up, turn[0]);
      offset.applyAxisAngle(new Vector3(1, 0, 0).applyQuaternion(this.#camera.quaternion), turn[1]);
    } else if (key === '+' || key === '-') offset.multiplyScalar(key === '+' ? NEARER : 1 / NEARER);
    else return false;
    this.#camera.position.copy(this.#controls.target).add(offset);
    this.#controls.update();
    this.#draw();
    return true;
  }

  close(): void {
    clearTimeout(this.#rest);
    this.#clear();
    this.#controls.dispose();
    this.#renderer.dispose();
  }

  #clearYarn(): void {
    if (!this.#yarn) return;
    this.#scene.remove(this.#yarn.mesh);
    this.#yarn.close();
    this.#yarn = undefined;
    this.#slow = false;
  }

  #clear(): void {
    this.#clearYarn();
    if (!this.#cloth) return;
    this.#scene.remove(this.#cloth);
    this.#cloth.geometry.dispose();
    this.#cloth.material.dispose();
  }

  /** Shows the yarn where there is one, or the surface; the surface is there for the pointer to meet in any case. */
  #see(what: 'yarn' | 'surface'): void {
    if (this.#yarn) this.#yarn.mesh.visible = what === 'yarn';
    if (this.#cloth) this.#cloth.material.visible = what === 'surface' || !this.#yarn;
  }

  /** How long one picture takes, in milliseconds, what is made ready for the first one left out. */
  #drawingTime(): number {
    const graphics = this.#renderer.getContext();
    const point = new Uint8Array(4);
    const draw = (): void => {
      this.#renderer.render(this.#scene, this.#camera);
      // Reading a point waits until all is drawn.
      graphics.readPixels(0, 0, 1, 1, graphics.RGBA, graphics.UNSIGNED_BYTE, point);
    };
    draw();
    const began = performance.now();
    draw();
    return performance.now() - began;
  }

  #draw(): void {
    cancelAnimationFrame(this.#asked);
    clearTimeout(this.#rest);
    this.#asked = requestAnimationFrame(() => {
      this.#see(this.#slow ? 'surface' : 'yarn');
      this.#renderer.render(this.#scene, this.#camera);
      if (this.#slow) this.#rest = setTimeout(() => this.#comeToRest(), REST_MS);
    });
  }

  #comeToRest(): void {
    this.#see('yarn');
    this.#renderer.render(this.#scene, this.#camera);
  }
}

/** The colours of a geometry, three bytes a point. */
function colours(geometry: BufferGeometry): number[] {
  const colour = geometry.getAttribute('color');
  const count = geometry.getAttribute('position').count;
  return Array.from({ length: count * 3 }, (_, i) =>
    Math.round(
      255 * (colour ? [colour.getX, colour.getY, colour.getZ][i % 3]!.call(colour, Math.floor(i / 3)) : 0.8),
    ),
  );
}
