// The program's mark, drawn from one list of shapes: as SVG, and as PNG for the devices that take nothing else.
//
// The mark is a spindle in half section: a stepped shaft on its centre line with a bearing ball on either side, on a slate. Coordinates are
// in a square of 100 × 100 with y downwards; a maskable icon keeps everything within the middle 80 %, as its corners are cut off by the device.

import { deflateSync } from "node:zlib";

type Colour = readonly [red: number, green: number, blue: number];
type Shape =
  | { kind: "box"; x: number; y: number; width: number; height: number; fill: Colour }
  | { kind: "disc"; x: number; y: number; radius: number; fill: Colour };

const slate: Colour = [27, 35, 40];
const chalk: Colour = [244, 241, 232];
const brass: Colour = [214, 170, 84];

const ground: Shape = { kind: "box", x: 0, y: 0, width: 100, height: 100, fill: slate };
const mark: Shape[] = [
  { kind: "box", x: 12, y: 42, width: 20, height: 16, fill: chalk },
  { kind: "box", x: 32, y: 36, width: 36, height: 28, fill: chalk },
  { kind: "box", x: 68, y: 30, width: 14, height: 40, fill: chalk },
  { kind: "disc", x: 42, y: 27, radius: 7, fill: brass },
  { kind: "disc", x: 58, y: 27, radius: 7, fill: brass },
  { kind: "disc", x: 42, y: 73, radius: 7, fill: brass },
  { kind: "disc", x: 58, y: 73, radius: 7, fill: brass },
  { kind: "box", x: 6, y: 49.25, width: 8, height: 1.5, fill: chalk },
  { kind: "box", x: 16, y: 49.25, width: 64, height: 1.5, fill: slate },
  { kind: "box", x: 84, y: 49.25, width: 10, height: 1.5, fill: chalk },
];

function scaled(shape: Shape, factor: number): Shape {
  const place = (v: number): number => 50 + (v - 50) * factor;
  if (shape.kind === "disc") return { ...shape, x: place(shape.x), y: place(shape.y), radius: shape.radius * factor };
  return { ...shape, x: place(shape.x), y: place(shape.y), width: shape.width * factor, height: shape.height * factor };
}

function shapes(maskable: boolean): Shape[] {
  return [ground, ...(maskable ? mark.map((s) => scaled(s, 0.78)) : mark)];
}

/** The mark as an SVG document. */
export function svg(): string {
  const body = shapes(false).map((s) => {
    const fill = `fill="rgb(${s.fill.join(" ")})"`;
    return s.kind === "disc"
      ? `<circle cx="${s.x}" cy="${s.y}" r="${s.radius}" ${fill}/>`
      : `<rect x="${s.x}" y="${s.y}" width="${s.width}" height="${s.height}" ${fill}/>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">${body.join("")}</svg>\n`;
}

function covers(shape: Shape, x: number, y: number): boolean {
  if (shape.kind === "disc") return (x - shape.x) ** 2 + (y - shape.y) ** 2 <= shape.radius ** 2;
  return x >= shape.x && x < shape.x + shape.width && y >= shape.y && y < shape.y + shape.height;
}

/** The mark as a PNG of size × size pixels, 8 bits a channel, edges smoothed by 4 × 4 samples a pixel. */
export function png(size: number, maskable = false): Uint8Array {
  const list = shapes(maskable).reverse(); // uppermost first: the first shape that covers a sample gives its colour
  const samples = 4;
  const rows = new Uint8Array(size * (1 + size * 3));
  let at = 0;
  for (let row = 0; row < size; row++) {
    rows[at++] = 0; // filter type 0 of the PNG specification: bytes as they are
    for (let column = 0; column < size; column++) {
      const sum = [0, 0, 0];
      for (let k = 0; k < samples * samples; k++) {
        const x = ((column + ((k % samples) + 0.5) / samples) * 100) / size;
        const y = ((row + (Math.floor(k / samples) + 0.5) / samples) * 100) / size;
        const top = list.find((s) => covers(s, x, y));
        if (top) top.fill.forEach((v, channel) => (sum[channel]! += v));
      }
      for (const v of sum) rows[at++] = Math.round(v / (samples * samples));
    }
  }
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, size);
  view.setUint32(4, size);
  header.set([8, 2, 0, 0, 0], 8); // depth 8, colour type 2 (RGB), deflate, adaptive filters, not interlaced
  return concat([
    Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a),
    chunk("IHDR", header),
    chunk("IDAT", deflateSync(rows, { level: 9 })),
    chunk("IEND", new Uint8Array(0)),
  ]);
}

function chunk(type: string, data: Uint8Array): Uint8Array {
  const named = concat([new TextEncoder().encode(type), data]);
  const out = new Uint8Array(named.length + 8);
  const view = new DataView(out.buffer);
  view.setUint32(0, data.length);
  out.set(named, 4);
  view.setUint32(4 + named.length, crc32(named));
  return out;
}

// CRC-32 with the reflected polynomial EDB88320, as the PNG specification asks for.
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}

function concat(parts: Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}
