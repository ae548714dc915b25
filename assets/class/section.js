// A section through one cylinder: where its parts stand at an angle of the crank, and how they are drawn.

/**
 * @typedef {object} Shape
 * @property {number} bore_mm
 * @property {number} stroke_mm
 * @property {number} rod_mm
 * @property {number} compression_ratio
 * @property {number[]} firing_order
 * @property {number[]} banks
 * @property {number[]} offsets_deg
 * @property {boolean} direct
 * @property {boolean} metered
 * @property {number} exhaust_opens_deg
 * @property {number} inlet_shuts_deg
 * @property {number} inject_deg
 * @property {number} throttle_bore_mm
 * @property {number} throttle_closed_deg
 * @property {number} first_tooth_btdc_deg
 */

/** Radians of degrees. */
export const rad = (/** @type {number} */ deg) => (deg * Math.PI) / 180;
/** An angle in the working cycle, 0 up to 720 [deg]. */
export const cycle = (/** @type {number} */ deg) => ((deg % 720) + 720) % 720;

/** Height of the piston under its top place [mm], at an angle past top [deg]. @param {Shape} s @param {number} deg */
export function drop(s, deg) {
  const [r, l] = [s.stroke_mm / 2, s.rod_mm];
  const side = r * Math.sin(rad(deg));
  return r + l - (r * Math.cos(rad(deg)) + Math.sqrt(Math.max(l * l - side * side, 0)));
}

/** Lift of inlet and exhaust valves as a share of the highest. @param {Shape} s @param {number} deg */
export function lifts(s, deg) {
  const half = (/** @type {number} */ from, /** @type {number} */ to) =>
    deg <= from || deg >= to ? 0 : Math.sin((Math.PI * (deg - from)) / (to - from));
  return { inlet: half(360, s.inlet_shuts_deg), exhaust: half(s.exhaust_opens_deg, 360) };
}

/** Named by which way the piston goes, as the trade counts strokes: valves open before and close after. @param {number} deg */
export function stroke(deg) {
  return ["power", "exhaust", "intake", "compression"][Math.min(3, Math.floor(deg / 180))];
}

/** @typedef {{ deg: number, gas: string, dense: number, plate: number, glow: number, sparks: boolean, injects: boolean }} Stands */

/** Draws in millimetres, upwards from the crank's middle. */
class Pen {
  /** @param {CanvasRenderingContext2D} g @param {Record<string, string>} c colours @param {number} scale pixels of a millimetre @param {Shape} s */
  constructor(g, c, scale, s) {
    this.g = g;
    this.c = c;
    this.px = 1 / scale;
    this.B = s.bore_mm;
    this.r = s.stroke_mm / 2;
    this.L = s.rod_mm;
    this.crown = 0.42 * this.B;
    this.deck = this.L + this.r + this.crown + 1;
    this.roof = 0.17 * this.B;
  }
  /** The path as a line. @param {number} width [px] @param {string} [colour] */
  line(width, colour = this.c.ink) {
    this.g.lineWidth = width * this.px;
    this.g.strokeStyle = colour;
    this.g.stroke();
  }
  /** An area with its outline; places are shares of the bore, from `y` up. @param {[number, number][]} points @param {string} colour @param {number} [width] @param {string} [edge] @param {number} [y] */
  area(points, colour, width = 1.5, edge = this.c.ink, y = 0) {
    const g = this.g;
    g.beginPath();
    points.forEach(([px, py], i) => (i ? g.lineTo(px * this.B, y + py * this.B) : g.moveTo(px * this.B, y + py * this.B)));
    g.closePath();
    g.fillStyle = colour;
    g.fill();
    this.line(width, edge);
  }
  /** A circle. @param {number} x @param {number} y @param {number} R @param {string} colour */
  circle(x, y, R, colour) {
    this.g.beginPath();
    this.g.arc(x, y, R, 0, 7);
    this.g.fillStyle = colour;
    this.g.fill();
    this.line(1.8);
  }
  /** Somewhere else, turned. @param {number} x @param {number} y @param {number} turn @param {() => void} draw */
  at(x, y, turn, draw) {
    this.g.save();
    this.g.translate(x, y);
    this.g.rotate(turn);
    draw();
    this.g.restore();
  }
}

/** Head and block with their water. @param {Pen} p */
function block(p) {
  const c = p.c;
  p.area([[-0.98, 0], [0.98, 0], [0.98, 0.72], [-0.98, 0.72]], c.metal, 1.5, c.edge, p.deck);
  for (const sign of [-1, 1]) {
    p.area([[sign * 0.5, 0], [sign * 0.98, 0], [sign * 0.98, -1.75], [sign * 0.5, -1.75]], c.metal, 1.5, c.edge, p.deck);
    p.area([[sign * 0.62, -0.12], [sign * 0.84, -0.12], [sign * 0.84, -1.2], [sign * 0.62, -1.2]], c.air, 1, c.edge, p.deck);
  }
}

/** Inlet with its throttle plate, exhaust with its catalyst. @param {Pen} p @param {Stands} now */
function pipes(p, now) {
  const { g, c, B, deck } = p;
  p.area([[-2.3, 0.92], [-1.05, 0.92], [-0.5, 0.62], [-0.12, 0.11], [-0.42, 0.05], [-0.68, 0.38], [-1.12, 0.54], [-2.3, 0.54]], c.air, 1.5, c.ink, deck);
  p.area(
    [[0.12, 0.11], [0.5, 0.6], [1.25, 0.6], [1.62, 0.25], [1.62, -0.5], [1.28, -0.5], [1.28, 0.12], [1.1, 0.27], [0.66, 0.27], [0.42, 0.05]],
    c.gas,
    1.5,
    c.ink,
    deck,
  );
  p.area([[1.15, -0.5], [1.75, -0.5], [1.75, -1.25], [1.15, -1.25]], c.metal, 1.5, c.ink, deck);
  if (now.glow > 0) {
    // as an eye sees it
    g.globalAlpha = 0.25 + 0.75 * now.glow;
    p.area([[1.15, -0.5], [1.75, -0.5], [1.75, -1.25], [1.15, -1.25]], c.accent, 1.5, c.ink, deck);
    g.globalAlpha = 1;
  }
  g.beginPath();
  for (let i = 1; i < 5; i++) {
    g.moveTo((1.15 + 0.12 * i) * B, deck - 0.58 * B);
    g.lineTo((1.15 + 0.12 * i) * B, deck - 1.17 * B);
  }
  p.line(1, c.edge);
  p.at(-1.75 * B, deck + 0.73 * B, rad(90 - now.plate), () => {
    g.beginPath();
    g.arc(0, 0, 0.03 * B, 0, 7);
    g.moveTo(-0.19 * B, 0);
    g.lineTo(0.19 * B, 0);
    p.line(3.5);
  });
}

/** The cylinder's gas, its valves, plug and injector. @param {Pen} p @param {Shape} s @param {Stands} now @param {number} pin height of the piston's pin [mm] */
function chamber(p, s, now, pin) {
  const { g, c, B, deck, roof } = p;
  const top = (pin + p.crown - deck) / B;
  const space = /** @type {[number, number][]} */ ([[-0.5, top], [0.5, top], [0.5, 0], [0, roof / B], [-0.5, 0]]);
  p.area(space, now.gas, 1.5, c.ink, deck);
  if (now.dense > 0) {
    g.globalAlpha = 0.25 * now.dense;
    p.area(space, c.edge, 1.5, c.ink, deck);
    g.globalAlpha = 1;
  }
  const lift = lifts(s, now.deg);
  for (const [sign, share] of /** @type {[number, number][]} */ ([[-1, lift.inlet], [1, lift.exhaust]])) {
    p.at(sign * 0.27 * B, deck + 0.08 * B, sign * -rad(19), () => {
      const valve = /** @type {[number, number][]} */ ([[-0.19, 0], [0.19, 0], [0.19, 0.025], [0.035, 0.12], [0.035, 0.98], [-0.035, 0.98], [-0.035, 0.12], [-0.19, 0.025]]);
      p.area(valve, share > 0 ? c.panel : c.metal, 1.8, c.ink, -0.13 * B * share);
    });
  }
  p.area([[-0.06, roof / B - 0.03], [0.06, roof / B - 0.03], [0.06, 0.95], [-0.06, 0.95]], c.panel, 1.5, c.ink, deck);
  if (now.sparks) {
    p.at(0, deck + roof - 0.09 * B, 0, () => {
      g.beginPath();
      for (let i = 0; i < 8; i++) {
        const [x, y] = [Math.cos((i * Math.PI) / 4), Math.sin((i * Math.PI) / 4)];
        g.moveTo(0.04 * B * x, 0.04 * B * y);
        g.lineTo(0.16 * B * x, 0.16 * B * y);
      }
      p.line(3, c.accent);
    });
  }
  const [x, y, turn] = s.direct ? [-0.44, 0.1, 28] : [-0.86, 0.66, 52];
  p.at(x * B, deck + y * B, rad(turn), () => {
    if (now.injects) {
      g.beginPath();
      for (const a of [-0.22, -0.08, 0.08, 0.22]) {
        g.moveTo(0, 0);
        g.lineTo(0.42 * B * Math.cos(a), 0.42 * B * Math.sin(a));
      }
      p.line(2.5, c.fuel);
    }
    p.area([[0, -0.035], [0, 0.035], [-0.12, 0.06], [-0.42, 0.06], [-0.42, -0.06], [-0.12, -0.06]], now.injects ? c.fuel : c.panel);
  });
}

/** Crank, piston and rod. @param {Pen} p @param {number} deg @param {number} pin */
function works(p, deg, pin) {
  const { g, c, B, r, L, crown } = p;
  const [x, y] = [r * Math.sin(rad(deg)), r * Math.cos(rad(deg))];
  p.at(0, 0, -rad(deg), () => {
    for (const web of [true, false]) {
      g.beginPath();
      if (web) {
        g.arc(0, 0, 0.34 * B, rad(20), rad(160), false);
        g.lineTo(-0.2 * B, r);
        g.arc(0, r, 0.2 * B, Math.PI, 0, true);
      } else {
        g.arc(0, 0, r + 0.28 * B, rad(205), rad(335), false);
        g.lineTo(0.24 * B, 0);
        g.lineTo(-0.24 * B, 0);
      }
      g.closePath();
      g.fillStyle = c.metal;
      g.fill();
      p.line(1.8);
    }
  });
  p.circle(0, 0, 0.16 * B, c.panel);
  const top = crown / B;
  p.area([[-0.49, top], [0.49, top], [0.49, -0.3], [0.3, -0.3], [0.3, 0.05], [-0.3, 0.05], [-0.3, -0.3], [-0.49, -0.3]], c.metal, 2, c.ink, pin);
  g.beginPath();
  for (const d of [0.08, 0.15, 0.23]) {
    g.moveTo(-0.49 * B, pin + crown - d * B);
    g.lineTo(0.49 * B, pin + crown - d * B);
  }
  p.line(1.6);
  p.at(0, pin, Math.atan2(y - pin, x), () => p.area([[0, -0.09], [L / B, -0.14], [L / B, 0.14], [0, 0.09]], c.panel, 1.8));
  for (const [px, py, R] of [[0, pin, 0.13 * B], [x, y, 0.19 * B]]) {
    p.circle(px, py, R, c.panel);
    g.beginPath();
    g.arc(px, py, 0.5 * R, 0, 7);
    p.line(1.4);
  }
}

/**
 * The section, as large as its room lets it be; gives where its parts came to stand.
 * @param {CanvasRenderingContext2D} g @param {Shape} s @param {Record<string, string>} c colours
 * @param {{ x: number, y: number, w: number, h: number }} room [px] @param {Stands} now
 */
export function drawSection(g, s, c, room, now) {
  const [B, r] = [s.bore_mm, s.stroke_mm / 2];
  const deck = r + s.rod_mm + 0.42 * B + 1;
  const [top, bottom, left, right] = [deck + 1.02 * B, -(r + 0.42 * B), -2.35 * B, 1.75 * B];
  const scale = Math.min((room.w - 8) / (right - left), (room.h - 8) / (top - bottom));
  const cx = room.x + room.w / 2 - (scale * (left + right)) / 2;
  const cy = room.y + (room.h + scale * (top + bottom)) / 2;
  const p = new Pen(g, c, scale, s);
  const pin = s.rod_mm + r - drop(s, now.deg);
  g.save();
  g.translate(cx, cy);
  g.scale(scale, -scale);
  block(p);
  pipes(p, now);
  chamber(p, s, now, pin);
  works(p, now.deg, pin);
  g.restore();
  return { B, deck, cx, cy, scale };
}
