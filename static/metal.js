/**
 * What the pictures of the movement share: canvases as fine as the screen, the colours of the style sheet, and metal.
 *
 * @typedef {{ ctx: CanvasRenderingContext2D, width: number, height: number, fine: number }} Sheet  sizes in CSS px, fine device px in one
 * @typedef {(name: string) => string} Colours
 */

import { lengthUnit } from "./shown.js";

/**
 * @param {Element} element
 * @returns {Colours} the colours of the style sheet as they hold there, by name without the dashes
 */
export function coloursAt(element) {
  const style = getComputedStyle(element);
  /** @type {Map<string, string>} */
  const known = new Map();
  return (name) => {
    const seen = known.get(name) ?? style.getPropertyValue(`--${name}`).trim();
    known.set(name, seen);
    return seen;
  };
}

/**
 * Gives a canvas its size, as fine as the screen; that clears it.
 * @param {HTMLCanvasElement} canvas
 * @param {number} width
 * @param {number} height
 * @returns {Sheet}
 */
export function sheetOf(canvas, width, height) {
  const fine = Math.min(3, window.devicePixelRatio || 1);
  canvas.width = Math.max(1, Math.round(width * fine));
  canvas.height = Math.max(1, Math.round(height * fine));
  const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  ctx.scale(fine, fine);
  return { ctx, width, height, fine };
}

/**
 * A sheet that is drawn once and laid down often.
 * @param {number} width
 * @param {number} height
 * @returns {Sheet}
 */
export function spareSheet(width, height) {
  return sheetOf(document.createElement("canvas"), width, height);
}

/**
 * Lays a spare sheet down, its upper left corner at x, y.
 * @param {Sheet} on
 * @param {Sheet} spare
 * @param {number} [x]
 * @param {number} [y]
 */
export function lay(on, spare, x = 0, y = 0) {
  on.ctx.drawImage(spare.ctx.canvas, x, y, spare.width, spare.height);
}

/** @param {Sheet} sheet */
export function wipe(sheet) {
  sheet.ctx.clearRect(0, 0, sheet.width, sheet.height);
}

/**
 * @param {CanvasRenderingContext2D} ctx
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {string} colour
 * @param {{ align?: CanvasTextAlign, size?: number, bold?: boolean }} [how]
 */
export function write(ctx, text, x, y, colour, how = {}) {
  ctx.font = `${how.bold ? "600 " : ""}${how.size ?? 12}px system-ui, "Segoe UI", "DejaVu Sans", sans-serif`;
  ctx.textAlign = how.align ?? "left";
  ctx.fillStyle = colour;
  ctx.fillText(text, x, y);
}

/**
 * A path through points, x and y in turn.
 * @param {CanvasRenderingContext2D} ctx
 * @param {number[]} points
 */
export function trace(ctx, points) {
  ctx.beginPath();
  for (let i = 0; i < points.length; i += 2) ctx.lineTo(points[i], points[i + 1]);
}

/**
 * The length of a scale bar: 1, 2 or 5 of a power of ten, at most as long as there is room.
 * @param {number} most
 */
export function roundLength(most) {
  const ten = 10 ** Math.floor(Math.log10(most));
  return [5, 2, 1].map((n) => n * ten).find((n) => n <= most) ?? ten;
}

/**
 * A scale bar that ends at x.
 * @param {CanvasRenderingContext2D} ctx
 * @param {number} x
 * @param {number} y
 * @param {number} pxPerMm
 * @param {string} colour
 */
export function scaleBar(ctx, x, y, pxPerMm, colour) {
  const unit = lengthUnit();
  const size = roundLength(72 / pxPerMm / unit.mm);
  const long = size * unit.mm * pxPerMm;
  ctx.strokeStyle = colour;
  ctx.lineWidth = 1;
  ctx.beginPath();
  ctx.moveTo(x - long, y - 4);
  ctx.lineTo(x - long, y);
  ctx.lineTo(x, y);
  ctx.lineTo(x, y - 4);
  ctx.stroke();
  write(ctx, `${+size.toPrecision(1)} ${unit.name}`, x, y - 8, colour, { align: "right" });
}

/**
 * How far a clamped bar of length 1 gives way at u from its root, for 1 at its tip.
 * @param {number} u
 */
export function bent(u) {
  return (u * u * (3 - u)) / 2;
}
