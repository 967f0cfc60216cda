// The yarn of a cloth, drawn as tubes: one rectangle for each segment of its middle line, turned to the eye and shaded
// as a tube with round ends. Two triangles a segment keep 20,000 stitches smooth where real tubes would not.

import {
  BufferAttribute,
  type BufferGeometry,
  Color,
  InstancedBufferAttribute,
  InstancedBufferGeometry,
  Mesh,
  ShaderMaterial,
  Vector2,
} from 'three';
import type { Range } from '../../api/types';

/** What the file of the yarn tells besides its line. */
export interface Drawn {
  radius: number;
  colour: [number, number, number];
}

/** No stitch. */
const NOWHERE = new Vector2(-2, -2);

const VERTEX = /* glsl */ `
  attribute vec2 corner;
  attribute vec3 from;
  attribute vec3 to;
  attribute float stitch;
  uniform float radius;
  uniform vec2 range;
  varying vec2 place;
  varying float extent;
  varying float lit;
  varying vec3 along;
  varying vec3 across;
  varying vec3 toEye;

  void main() {
    vec3 a = (modelViewMatrix * vec4(from, 1.0)).xyz;
    vec3 b = (modelViewMatrix * vec4(to, 1.0)).xyz;
    toEye = -normalize((a + b) * 0.5);
    vec3 seen = (b - a) - toEye * dot(b - a, toEye);
    extent = length(seen);
    along = extent > radius * 1e-3 ? seen / extent : normalize(cross(toEye, vec3(0.0, 1.0, 1e-3)));
    across = cross(toEye, along);
    float end = corner.x * 2.0 - 1.0;
    place = vec2(corner.x * extent + end * radius, corner.y * radius);
    lit = range.x <= stitch && stitch < range.y ? 1.0 : 0.0;
    vec3 at = mix(a, b, corner.x) + along * end * radius + across * place.y;
    gl_Position = projectionMatrix * vec4(at, 1.0);
  }
`;

const FRAGMENT = /* glsl */ `
  uniform float radius;
  uniform vec3 colour;
  uniform vec3 thread;
  varying vec2 place;
  varying float extent;
  varying float lit;
  varying vec3 along;
  varying vec3 across;
  varying vec3 toEye;

  const vec3 LIGHT = vec3(-0.6, 0.73, 0.33);

  void main() {
    vec2 off = vec2(place.x - clamp(place.x, 0.0, extent), place.y) / radius;
    float square = dot(off, off);
    if (square > 1.0) discard;
    float height = sqrt(1.0 - square);
    vec3 normal = along * off.x + across * off.y + toEye * height;
    float shade = 0.1 + 0.45 * height * height + 0.6 * max(dot(normal, LIGHT), 0.0);
    gl_FragColor = vec4(mix(colour, thread, lit) * shade, 1.0);
    #include <colorspace_fragment>
  }
`;

export class Yarn {
  readonly mesh: Mesh<InstancedBufferGeometry, ShaderMaterial>;

  constructor(line: BufferGeometry, { radius, colour }: Drawn) {
    const [red, green, blue] = colour;
    const material = new ShaderMaterial({
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      uniforms: {
        radius: { value: radius },
        colour: { value: new Color().setRGB(red / 255, green / 255, blue / 255, 'srgb') },
        thread: { value: new Color() },
        range: { value: NOWHERE.clone() },
      },
    });
    this.mesh = new Mesh(segments(line), material);
    this.mesh.frustumCulled = false;
  }

  /** Lights the stitches of a range, counted through the piece. */
  light(range: Range | null, colour: Color): void {
    const { uniforms } = this.mesh.material;
    uniforms['range']!.value = range ? new Vector2(range[0], range[1]) : NOWHERE.clone();
    uniforms['thread']!.value = colour;
  }

  close(): void {
    this.mesh.geometry.dispose();
    this.mesh.material.dispose();
  }
}

/** The segments of a line as instances of one rectangle. */
export function segments(line: BufferGeometry): InstancedBufferGeometry {
  const point = line.getAttribute('position');
  const stitch = line.getAttribute('_stitch');
  const ends = line.getIndex()!;
  const count = ends.count / 2;
  const [from, to, of] = [new Float32Array(count * 3), new Float32Array(count * 3), new Float32Array(count)];
  for (let segment = 0; segment < count; segment++) {
    const [one, other] = [ends.getX(segment * 2), ends.getX(segment * 2 + 1)];
    from.set([point.getX(one), point.getY(one), point.getZ(one)], segment * 3);
    to.set([point.getX(other), point.getY(other), point.getZ(other)], segment * 3);
    of[segment] = stitch.getX(one);
  }
  const geometry = new InstancedBufferGeometry();
  geometry.setAttribute('corner', new BufferAttribute(new Float32Array([0, -1, 1, -1, 1, 1, 0, 1]), 2));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  geometry.setAttribute('from', new InstancedBufferAttribute(from, 3));
  geometry.setAttribute('to', new InstancedBufferAttribute(to, 3));
  geometry.setAttribute('stitch', new InstancedBufferAttribute(of, 1));
  geometry.instanceCount = count;
  return geometry;
}
