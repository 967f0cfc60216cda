// The yarn of a cloth, drawn as tubes: one rectangle for each segment of its middle line, turned to the eye and shaded
// as a tube of plies with round ends, as the still pictures are. Two triangles a segment keep 20,000 stitches smooth where real tubes would not.

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
  attribute float before;
  uniform float radius;
  uniform vec2 range;
  varying vec2 place;
  varying float passed;
  varying float foreshortening;
  varying float extent;
  varying float lit;
  varying vec3 along;
  varying vec3 across;
  varying vec3 toEye;
  varying vec3 begin;
  varying vec3 end;

  void main() {
    vec3 a = (modelViewMatrix * vec4(from, 1.0)).xyz;
    vec3 b = (modelViewMatrix * vec4(to, 1.0)).xyz;
    toEye = -normalize((a + b) * 0.5);
    vec3 seen = (b - a) - toEye * dot(b - a, toEye);
    extent = length(seen);
    passed = before;
    foreshortening = length(b - a) / max(extent, radius * 1e-3);
    along = extent > radius * 1e-3 ? seen / extent : normalize(cross(toEye, vec3(0.0, 1.0, 1e-3)));
    across = cross(toEye, along);
    float beyond = corner.x * 2.0 - 1.0;
    begin = a;
    end = b;
    place = vec2(corner.x * extent + beyond * radius, corner.y * radius);
    lit = range.x <= stitch && stitch < range.y ? 1.0 : 0.0;
    vec3 at = mix(a, b, corner.x) + along * beyond * radius + across * place.y;
    gl_Position = projectionMatrix * vec4(at, 1.0);
  }
`;

const FRAGMENT = /* glsl */ `
  uniform float radius;
  uniform vec3 colour;
  uniform vec3 thread;
  varying vec2 place;
  varying float passed;
  varying float foreshortening;
  varying float extent;
  varying float lit;
  varying vec3 along;
  varying vec3 across;
  varying vec3 toEye;
  varying vec3 begin;
  varying vec3 end;
  uniform mat4 projectionMatrix;

  // From the upper left, and softened as wool softens it; what is deep between two yarns gets less.
  const vec3 LIGHT = vec3(-0.424, 0.566, 0.707);
  const float AMBIENT = 0.44;
  const float HOLLOW = 0.45;
  // Plies of the yarn, turns of them in a length of one radius, and how round each stands out.
  const float PLIES = 3.0;
  const float TWIST = 0.27;
  const float ROUND = 0.5;

  void main() {
    vec2 off = vec2(place.x - clamp(place.x, 0.0, extent), place.y) / radius;
    float square = dot(off, off);
    if (square > 1.0) discard;
    float height = sqrt(1.0 - square);
    vec3 outwards = along * off.x + across * off.y + toEye * height;
    // The tube stands out of its rectangle, so that neighbours run into each other as tubes do.
    vec3 middle = mix(begin, end, clamp(place.x / max(extent, 1e-9), 0.0, 1.0));
    vec4 surface = projectionMatrix * vec4(middle + outwards * radius, 1.0);
    gl_FragDepth = surface.z / surface.w * 0.5 + 0.5;
    vec3 direction = normalize(end - begin);
    float slant = dot(outwards, direction);
    vec3 normal = normalize(outwards - direction * slant);
    float around = asin(clamp(off.y, -1.0, 1.0)) / 6.2832;
    float wound = (passed + clamp(place.x, 0.0, extent) * foreshortening) / radius + slant;
    float ply = fract(wound * TWIST + around * PLIES) * 2.0 - 1.0;
    float beside = 1.0 / foreshortening;
    normal = normalize(normal + (along * 0.5 + across * height - toEye * off.y) * ply * ROUND * beside);
    float fall = max(dot(normal, LIGHT) * 0.7 + 0.3, 0.0);
    float shade = (AMBIENT + (1.0 - AMBIENT) * fall * 1.25) * (1.0 - 0.25 * ply * ply * ply * ply * beside);
    shade *= 1.0 - HOLLOW * (1.0 - height) * (1.0 - height);
    // The colours are those of the screen, as in the still pictures.
    gl_FragColor = vec4(mix(colour, thread, lit) * shade, 1.0);
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
        colour: { value: new Color(red / 255, green / 255, blue / 255) },
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
    uniforms['thread']!.value = colour.clone().convertLinearToSRGB();
  }

  close(): void {
    this.mesh.geometry.dispose();
    this.mesh.material.dispose();
  }
}

/** The segments of a line as instances of one rectangle, each with the length of yarn before it. */
export function segments(line: BufferGeometry): InstancedBufferGeometry {
  const point = line.getAttribute('position');
  const stitch = line.getAttribute('_stitch');
  const ends = line.getIndex()!;
  const count = ends.count / 2;
  const [from, to, of] = [new Float32Array(count * 3), new Float32Array(count * 3), new Float32Array(count)];
  const before = new Float32Array(count);
  let wound = 0;
  for (let segment = 0; segment < count; segment++) {
    const [one, other] = [ends.getX(segment * 2), ends.getX(segment * 2 + 1)];
    from.set([point.getX(one), point.getY(one), point.getZ(one)], segment * 3);
    to.set([point.getX(other), point.getY(other), point.getZ(other)], segment * 3);
    of[segment] = stitch.getX(one);
    before[segment] = wound;
    wound += Math.hypot(
      point.getX(other) - point.getX(one),
      point.getY(other) - point.getY(one),
      point.getZ(other) - point.getZ(one),
    );
  }
  const geometry = new InstancedBufferGeometry();
  geometry.setAttribute('corner', new BufferAttribute(new Float32Array([0, -1, 1, -1, 1, 1, 0, 1]), 2));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  geometry.setAttribute('from', new InstancedBufferAttribute(from, 3));
  geometry.setAttribute('to', new InstancedBufferAttribute(to, 3));
  geometry.setAttribute('stitch', new InstancedBufferAttribute(of, 1));
  geometry.setAttribute('before', new InstancedBufferAttribute(before, 1));
  geometry.instanceCount = count;
  return geometry;
}
