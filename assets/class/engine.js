// The engine in section, at its real angles: one cylinder large, all of them in a row, the wheel on the crank.
//
// Angles come some twenty times a second and are drawn in between. An engine that turns too fast for the eye is shown as
// under a stroboscope: each picture is at an angle that the crank really passes, in slow succession.

import { button, el, fill, oneOf, put, setText } from "./dom.js";
import { colours, isStill, onLook } from "./look.js";
import { say } from "./words.js";

/** Faster than this it is shown as under a stroboscope [turns a second]. */
const EYE = 1.2;
/** How fast it then seems to turn [turns a second]. */
const SEEMS = 0.45;
/** Frames are drawn so late that the next one is there [ms]. */
const LATE_MS = 90;
/** A spark's light, a little longer than it burns, to be seen [deg]. */
const SPARK_DEG = 12;
const TEETH = 58;

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
 *
 * @typedef {object} CylinderNow
 * @property {number} cylinder
 * @property {boolean} [sparks]
 * @property {boolean} [injects]
 * @property {number | null} [spark_btdc]
 * @property {number} [inject_for_deg]
 *
 * @typedef {object} EngineNow
 * @property {number} crank_deg
 * @property {boolean} turning
 * @property {CylinderNow[]} cylinders
 * @property {number} plate_deg
 * @property {any[]} pulled
 * @property {number[]} glow
 *
 * @typedef {{ cylinder: number, t_k: number, p_kpa: number, burned: number, products: number, burns: boolean }} Gas
 */

const rad = (/** @type {number} */ deg) => (deg * Math.PI) / 180;
const cycle = (/** @type {number} */ deg) => ((deg % 720) + 720) % 720;

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

/** @param {Shape} s @param {number} deg */
export function stroke(s, deg) {
  if (deg < s.exhaust_opens_deg) return "power";
  if (deg < 360) return "exhaust";
  return deg < 540 ? "intake" : "compression";
}

export class Engine {
  constructor() {
    this.canvas = el("canvas", { role: "img", class: "engine-canvas" });
    this.choice = el("div", { class: "row" });
    this.said = el("p", { class: "soft small strobe" });
    this.head = el("div", { class: "row engine-head" }, this.choice);
    this.node = el("div", { class: "engine" }, this.canvas, this.said);
    /** @type {Shape | null} */
    this.shape = null;
    /** @type {{ at: number, turns: number, first: EngineNow }[]} */
    this.frames = [];
    /** @type {Gas[] | null} */
    this.gas = null;
    /** @type {Map<string, { name: string, text: string }>} */
    this.values = new Map();
    this.live = /** @type {any} */ ({});
    this.large = 1;
    this.shown = 0;
    this.last = 0;
    this.strobe = false;
    this.colours = colours();
    this.dirty = true;
    this.drawing = 0;
    onLook(() => {
      this.colours = colours();
      this.dirty = true;
    });
    new ResizeObserver(() => (this.dirty = true)).observe(this.canvas);
  }

  /** @param {Shape} shape */
  build(shape) {
    if (JSON.stringify(shape) === JSON.stringify(this.shape)) return;
    this.shape = shape;
    this.frames = [];
    this.large = Math.min(this.large, shape.offsets_deg.length);
    const numbers = oneOf(
      say("seat-engine-cylinder"),
      shape.offsets_deg.map((_, k) => /** @type {[number, string]} */ ([k + 1, String(k + 1)])),
      (k) => {
        this.large = k;
        this.dirty = true;
        numbers.show(k);
      },
    );
    numbers.show(this.large);
    fill(this.choice, el("span", { class: "soft small", "aria-hidden": "true", text: say("seat-engine-cylinder") }), numbers.node);
    this.dirty = true;
  }

  /** @param {{ turns: number, first: EngineNow, gas?: Gas[] | null }} frame */
  frame(frame) {
    const at = performance.now();
    const before = this.frames.at(-1);
    // another lesson, or gone back to a mark: nothing lies between the two
    if (before && (frame.turns < before.turns - 1e-6 || at - before.at > 2000)) this.frames = [];
    this.frames.push({ at, turns: frame.turns, first: frame.first });
    if (this.frames.length > 4) this.frames.shift();
    this.gas = frame.gas ?? null;
    this.dirty = true;
  }

  /** @param {any} live live values of the module @param {{ id: string, name: string, text: string }[]} values in words */
  tell(live, values) {
    this.live = live;
    this.values = new Map(values.map((v) => [v.id, v]));
    const rpm = this.values.get("engine_speed_rpm")?.text ?? "";
    put(this.canvas, { "aria-label": say("seat-engine-spoken", { cylinder: this.large, speed: rpm }) });
    this.dirty = true;
  }

  start() {
    if (this.drawing) return;
    const step = (/** @type {number} */ now) => {
      this.drawing = requestAnimationFrame(step);
      // a canvas that is not shown is not drawn
      if (this.canvas.offsetParent === null) return;
      this.draw(now);
    };
    this.drawing = requestAnimationFrame(step);
  }

  stop() {
    cancelAnimationFrame(this.drawing);
    this.drawing = 0;
  }

  /** Turns at a moment, between the frames around it, and how fast it turns. @param {number} now */
  turnsAt(now) {
    const f = this.frames;
    const end = f.at(-1);
    if (!end) return { turns: 0, rate: 0 };
    const before = f.at(-2);
    const rate = before ? (1000 * (end.turns - before.turns)) / Math.max(end.at - before.at, 1) : 0;
    const at = now - LATE_MS;
    for (let k = f.length - 1; k > 0; k--) {
      const [a, b] = [f[k - 1], f[k]];
      if (at >= a.at && at <= b.at) {
        return { turns: a.turns + ((b.turns - a.turns) * (at - a.at)) / Math.max(b.at - a.at, 1), rate };
      }
    }
    if (at > end.at) {
      // a frame that is late does not stop the crank at once
      const ahead = Math.min(at - end.at, 120);
      return at - end.at > 400 ? { turns: end.turns, rate: 0 } : { turns: end.turns + (rate * ahead) / 1000, rate };
    }
    return { turns: f[0].turns, rate };
  }

  /** @param {number} now */
  draw(now) {
    const s = this.shape;
    const end = this.frames.at(-1);
    const dt = Math.min((now - this.last) / 1000, 0.1);
    if (!s) return;
    const { turns, rate } = this.turnsAt(now);
    const fast = rate > EYE;
    if (isStill() && rate > 0 && now - this.last < 500 && !this.dirty) return;
    if (isStill() && rate > 0 && now - this.last < 500) return;
    this.last = now;
    const shown = isStill() && end ? end.turns : fast ? this.shown + SEEMS * dt : turns;
    if (!this.dirty && Math.abs(shown - this.shown) < 1e-5) return;
    this.shown = fast ? shown % 2 : shown;
    this.dirty = false;
    if (fast !== this.strobe) {
      this.strobe = fast;
      setText(this.said, fast && !isStill() ? say("seat-engine-strobe") : "");
    }
    const first = end?.first;
    const offset = first && end ? first.crank_deg - 360 * end.turns : 0;
    const crank = fast ? cycle(360 * shown) : cycle(360 * shown + offset);
    this.paint(s, crank, first ?? null);
  }

  /** @param {Shape} s @param {number} crank @param {EngineNow | null} first */
  paint(s, crank, first) {
    const canvas = this.canvas;
    const [w, h] = [canvas.clientWidth, canvas.clientHeight];
    if (w < 10 || h < 10) return;
    const dpr = Math.min(devicePixelRatio || 1, 2);
    if (canvas.width !== Math.round(w * dpr) || canvas.height !== Math.round(h * dpr)) {
      canvas.width = Math.round(w * dpr);
      canvas.height = Math.round(h * dpr);
    }
    const g = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    g.setTransform(dpr, 0, 0, dpr, 0, 0);
    g.clearRect(0, 0, w, h);
    g.lineJoin = "round";
    g.lineCap = "round";
    const side = w > 1.25 * h;
    const [lw, lh] = side ? [Math.min(0.6 * w, 1.15 * h), h] : [w, Math.max(h * 0.66, h - 190)];
    this.section(g, s, crank, first, 0, 0, lw, lh);
    if (side) this.line(g, s, crank, first, lw + 8, 0, w - lw - 8, h);
    else this.line(g, s, crank, first, 0, lh, w, h - lh);
  }

  /** @param {CylinderNow | undefined} now @param {number} deg @param {Shape} s */
  works(now, deg, s) {
    const runs = this.live.running === true;
    const btdc = now?.spark_btdc !== undefined ? now.spark_btdc : runs ? (this.live.spark_deg ?? null) : null;
    const since = (/** @type {number} */ from) => cycle(deg - from);
    const sparks = btdc !== null && btdc !== undefined && since(-btdc) < SPARK_DEG;
    const forDeg = now?.inject_for_deg ?? 0;
    const injects = forDeg > 0 ? since(s.inject_deg) < Math.max(forDeg, 15) : now?.injects === true && !this.strobe;
    return { sparks, injects };
  }

  /** Colour of a cylinder's gas: by its stroke, under an open lid by what it is. @param {number} k @param {string} stroke */
  gasColour(k, stroke) {
    const c = this.colours;
    const gas = this.gas?.find((x) => x.cylinder === k);
    if (gas) return gas.burns || gas.t_k > 1300 ? c.hot : gas.products > 0.5 ? c.gas : c.air;
    return { power: c.hot, exhaust: c.gas, intake: c.air, compression: c.air }[stroke] ?? c.air;
  }

  /**
   * One cylinder large.
   * @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {EngineNow | null} first
   * @param {number} x0 @param {number} y0 @param {number} w @param {number} h
   */
  section(g, s, crank, first, x0, y0, w, h) {
    const c = this.colours;
    const [B, r, L] = [s.bore_mm, s.stroke_mm / 2, s.rod_mm];
    const k = this.large;
    const deg = cycle(crank - (s.offsets_deg[k - 1] ?? 0));
    const crown = 0.42 * B;
    const deck = L + r + crown + 1;
    const [top, bottom, left, right] = [deck + 1.02 * B, -(r + 0.42 * B), -2.35 * B, 1.75 * B];
    const scale = Math.min((w - 8) / (right - left), (h - 8) / (top - bottom));
    const cx = x0 + w / 2 - (scale * (left + right)) / 2;
    const cy = y0 + (h + scale * (top + bottom)) / 2;
    g.save();
    g.translate(cx, cy);
    g.scale(scale, -scale);
    const px = 1 / scale;
    const outline = (/** @type {number} */ width, /** @type {string} */ colour = c.ink) => {
      g.lineWidth = width * px;
      g.strokeStyle = colour;
      g.stroke();
    };
    const shape = (/** @type {[number, number][]} */ points) => {
      g.beginPath();
      points.forEach(([x, y], i) => (i ? g.lineTo(x, y) : g.moveTo(x, y)));
      g.closePath();
    };
    const kind = stroke(s, deg);
    const gas = this.gasColour(k, kind);
    const lift = lifts(s, deg);
    const { sparks, injects } = this.works(first?.cylinders.find((x) => x.cylinder === k), deg, s);
    const pin = L + r - drop(s, deg);
    const roof = 0.17 * B;

    // inlet: runner with throttle, port; exhaust port and pipe
    const inlet = /** @type {[number, number][]} */ ([
      [-2.3 * B, deck + 0.92 * B], [-1.05 * B, deck + 0.92 * B], [-0.5 * B, deck + 0.62 * B], [-0.12 * B, deck + 0.11 * B],
      [-0.42 * B, deck + 0.05 * B], [-0.68 * B, deck + 0.38 * B], [-1.12 * B, deck + 0.54 * B], [-2.3 * B, deck + 0.54 * B],
    ]);
    const outlet = /** @type {[number, number][]} */ ([
      [0.12 * B, deck + 0.11 * B], [0.5 * B, deck + 0.6 * B], [1.25 * B, deck + 0.6 * B], [1.62 * B, deck + 0.25 * B], [1.62 * B, deck - 0.5 * B],
      [1.28 * B, deck - 0.5 * B], [1.28 * B, deck + 0.12 * B], [1.1 * B, deck + 0.27 * B], [0.66 * B, deck + 0.27 * B], [0.42 * B, deck + 0.05 * B],
    ]);
    // head and block
    shape([[-0.98 * B, deck], [0.98 * B, deck], [0.98 * B, deck + 0.72 * B], [-0.98 * B, deck + 0.72 * B]]);
    g.fillStyle = c.metal;
    g.fill();
    outline(1.5, c.edge);
    for (const sign of [-1, 1]) {
      shape([[sign * 0.5 * B, deck], [sign * 0.98 * B, deck], [sign * 0.98 * B, deck - 1.75 * B], [sign * 0.5 * B, deck - 1.75 * B]]);
      g.fillStyle = c.metal;
      g.fill();
      outline(1.5, c.edge);
      shape([[sign * 0.62 * B, deck - 0.12 * B], [sign * 0.84 * B, deck - 0.12 * B], [sign * 0.84 * B, deck - 1.2 * B], [sign * 0.62 * B, deck - 1.2 * B]]);
      g.fillStyle = c.air;
      g.fill();
      outline(1, c.edge);
    }
    shape(inlet);
    g.fillStyle = c.air;
    g.fill();
    outline(1.5);
    shape(outlet);
    g.fillStyle = c.gas;
    g.fill();
    outline(1.5);
    // the catalyst, glowing as an eye sees it
    const bank = (s.banks[k - 1] ?? 1) - 1;
    const glow = first?.glow?.[bank] ?? 0;
    shape([[1.15 * B, deck - 0.5 * B], [1.75 * B, deck - 0.5 * B], [1.75 * B, deck - 1.25 * B], [1.15 * B, deck - 1.25 * B]]);
    g.fillStyle = c.metal;
    g.fill();
    if (glow > 0) {
      g.globalAlpha = 0.25 + 0.75 * glow;
      g.fillStyle = c.accent;
      g.fill();
      g.globalAlpha = 1;
    }
    outline(1.5);
    g.beginPath();
    for (let i = 1; i < 5; i++) {
      g.moveTo((1.15 + 0.12 * i) * B, deck - 0.58 * B);
      g.lineTo((1.15 + 0.12 * i) * B, deck - 1.17 * B);
    }
    outline(1, c.edge);

    // the cylinder with its gas
    shape([[-0.5 * B, pin + crown], [0.5 * B, pin + crown], [0.5 * B, deck], [0, deck + roof], [-0.5 * B, deck]]);
    g.fillStyle = gas;
    g.fill();
    if (kind === "compression" && !this.gas) {
      g.globalAlpha = 0.25 * Math.min(1, Math.max(0, (deg - 540) / 180));
      g.fillStyle = c.edge;
      g.fill();
      g.globalAlpha = 1;
    }
    outline(1.5);
    // valves, along their stems
    for (const [sign, share] of /** @type {[number, number][]} */ ([[-1, lift.inlet], [1, lift.exhaust]])) {
      g.save();
      g.translate(sign * 0.27 * B, deck + 0.08 * B);
      g.rotate(sign * -rad(19));
      g.translate(0, -0.13 * B * share);
      shape([[-0.19 * B, 0], [0.19 * B, 0], [0.19 * B, 0.025 * B], [0.035 * B, 0.12 * B], [0.035 * B, 0.98 * B], [-0.035 * B, 0.98 * B], [-0.035 * B, 0.12 * B], [-0.19 * B, 0.025 * B]]);
      g.fillStyle = share > 0 ? c.panel : c.metal;
      g.fill();
      outline(1.8);
      g.restore();
    }
    // plug and spark
    shape([[-0.06 * B, deck + roof - 0.03 * B], [0.06 * B, deck + roof - 0.03 * B], [0.06 * B, deck + 0.95 * B], [-0.06 * B, deck + 0.95 * B]]);
    g.fillStyle = c.panel;
    g.fill();
    outline(1.5);
    if (sparks) {
      g.beginPath();
      for (let i = 0; i < 8; i++) {
        const a = (i * Math.PI) / 4;
        g.moveTo(0.04 * B * Math.cos(a), deck + roof - 0.09 * B + 0.04 * B * Math.sin(a));
        g.lineTo(0.16 * B * Math.cos(a), deck + roof - 0.09 * B + 0.16 * B * Math.sin(a));
      }
      outline(3, c.accent);
    }
    // injector with its spray
    const at = s.direct ? { x: -0.44 * B, y: deck + 0.1 * B, turn: -62 } : { x: -0.86 * B, y: deck + 0.66 * B, turn: -38 };
    g.save();
    g.translate(at.x, at.y);
    g.rotate(rad(at.turn) + Math.PI / 2);
    if (injects) {
      g.beginPath();
      for (const a of [-0.22, -0.08, 0.08, 0.22]) {
        g.moveTo(0, 0);
        g.lineTo(0.42 * B * Math.cos(a), 0.42 * B * Math.sin(a));
      }
      outline(2.5, c.fuel);
    }
    shape([[0, -0.035 * B], [0, 0.035 * B], [-0.12 * B, 0.06 * B], [-0.42 * B, 0.06 * B], [-0.42 * B, -0.06 * B], [-0.12 * B, -0.06 * B]]);
    g.fillStyle = injects ? c.fuel : c.panel;
    g.fill();
    outline(1.5);
    g.restore();
    // throttle plate, from the plane across the bore
    g.save();
    g.translate(-1.75 * B, deck + 0.73 * B);
    g.beginPath();
    g.arc(0, 0, 0.03 * B, 0, 7);
    const a = rad(90 - (first?.plate_deg ?? s.throttle_closed_deg));
    g.moveTo(-0.19 * B * Math.cos(a), -0.19 * B * Math.sin(a));
    g.lineTo(0.19 * B * Math.cos(a), 0.19 * B * Math.sin(a));
    outline(3.5);
    g.restore();

    // crank, rod, piston
    const pinX = r * Math.sin(rad(deg));
    const pinY = r * Math.cos(rad(deg));
    g.save();
    g.rotate(-rad(deg));
    g.beginPath();
    g.arc(0, 0, 0.34 * B, rad(20), rad(160), false);
    g.lineTo(-0.2 * B, r);
    g.arc(0, r, 0.2 * B, Math.PI, 0, true);
    g.closePath();
    g.fillStyle = c.metal;
    g.fill();
    outline(1.8);
    g.beginPath();
    g.arc(0, 0, r + 0.28 * B, rad(205), rad(335), false);
    g.lineTo(0.24 * B, 0);
    g.lineTo(-0.24 * B, 0);
    g.closePath();
    g.fillStyle = c.metal;
    g.fill();
    outline(1.8);
    g.restore();
    g.beginPath();
    g.arc(0, 0, 0.16 * B, 0, 7);
    g.fillStyle = c.panel;
    g.fill();
    outline(1.8);
    // piston
    shape([[-0.49 * B, pin + crown], [0.49 * B, pin + crown], [0.49 * B, pin - 0.3 * B], [0.3 * B, pin - 0.3 * B], [0.3 * B, pin + 0.05 * B], [-0.3 * B, pin + 0.05 * B], [-0.3 * B, pin - 0.3 * B], [-0.49 * B, pin - 0.3 * B]]);
    g.fillStyle = c.metal;
    g.fill();
    outline(2);
    g.beginPath();
    for (const d of [0.08, 0.15, 0.23]) {
      g.moveTo(-0.49 * B, pin + crown - d * B);
      g.lineTo(0.49 * B, pin + crown - d * B);
    }
    outline(1.6);
    // rod, from the piston's pin to the crank's
    const along = Math.atan2(pinY - pin, pinX);
    g.save();
    g.translate(0, pin);
    g.rotate(along);
    shape([[0, -0.09 * B], [L, -0.14 * B], [L, 0.14 * B], [0, 0.09 * B]]);
    g.fillStyle = c.panel;
    g.fill();
    outline(1.8);
    g.restore();
    for (const [x, y, R] of [[0, pin, 0.13 * B], [pinX, pinY, 0.19 * B]]) {
      g.beginPath();
      g.arc(x, y, R, 0, 7);
      g.fillStyle = c.panel;
      g.fill();
      outline(1.8);
      g.beginPath();
      g.arc(x, y, 0.5 * R, 0, 7);
      outline(1.4);
    }
    g.restore();

    // words on leader lines
    const to = (/** @type {number} */ x, /** @type {number} */ y) => /** @type {[number, number]} */ ([cx + scale * x, cy - scale * y]);
    const small = w < 420;
    // lines of labels below each other end further and further in, so that none crosses another's words
    let inner = 0;
    const label = (/** @type {string} */ id, /** @type {[number, number]} */ end, /** @type {number} */ y, /** @type {"left" | "right"} */ align) => {
      const v = this.values.get(id);
      if (!v) return;
      const x = align === "left" ? x0 + 6 : x0 + w - 6;
      inner = this.label(g, v.name, v.text, end, x, y, align, small, inner);
    };
    const low = y0 + h;
    const each = small ? 44 : 54;
    const above = cy - scale * deck + (small ? 24 : 34);
    label("air_g_s", to(-2.1 * B, deck + 0.6 * B), above, "left");
    label("throttle_deg", to(-1.75 * B, deck + 0.6 * B), above + each, "left");
    label("map_kpa", to(-1.2 * B, deck + 0.62 * B), above + 2 * each, "left");
    inner = 0;
    label("engine_speed_rpm", to(-0.3 * B, -0.1 * B), low - (small ? 28 : 34), "left");
    inner = 0;
    label("spark_deg", to(0.06 * B, deck + 0.85 * B), y0 + (small ? 18 : 22), "right");
    inner = 0;
    const below = Math.min(cy - scale * (deck - 1.25 * B) + 26, low - 3 * each);
    label("lambda", to(1.5 * B, deck - 0.3 * B), below, "right");
    label("coolant_c", to(0.75 * B, deck - 1.1 * B), below + each, "right");
    const rr = x0 + w - 6;
    g.textAlign = "right";
    g.font = `700 ${small ? 15 : 17}px ${FONT_WORDS}`;
    g.fillStyle = c.ink;
    g.fillText(say("seat-engine-stroke", { cylinder: k, stroke: say(`seat-stroke-${kind}`) }), rr, low - 12);
  }

  /**
   * @param {CanvasRenderingContext2D} g @param {string} name @param {string} text @param {[number, number]} end
   * @param {number} x @param {number} y @param {"left" | "right"} align @param {boolean} small
   * @param {number} inner how far in the line of the label above ends
   */
  label(g, name, text, end, x, y, align, small, inner) {
    const c = this.colours;
    g.textAlign = align;
    g.font = `${small ? 16 : 19}px ${FONT_FIGURES}`;
    const figure = g.measureText(text).width;
    g.font = `${small ? 13 : 14}px ${FONT_WORDS}`;
    const wide = Math.max(g.measureText(name).width, figure, inner) + 8;
    const from = align === "left" ? x + wide : x - wide;
    g.strokeStyle = c.edge;
    g.lineWidth = 1;
    g.beginPath();
    g.moveTo(x, y + 4);
    g.lineTo(from, y + 4);
    g.lineTo(end[0], end[1]);
    g.stroke();
    g.beginPath();
    g.arc(end[0], end[1], 2.5, 0, 7);
    g.fillStyle = c.edge;
    g.fill();
    g.fillStyle = c.soft;
    g.fillText(name, x, y);
    g.fillStyle = c.meas;
    g.font = `${small ? 16 : 19}px ${FONT_FIGURES}`;
    g.fillText(text, x, y + (small ? 20 : 23));
    return wide;
  }

  /**
   * All cylinders in a row, and the wheel.
   * @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {EngineNow | null} first
   * @param {number} x0 @param {number} y0 @param {number} w @param {number} h
   */
  line(g, s, crank, first, x0, y0, w, h) {
    const c = this.colours;
    const n = s.offsets_deg.length;
    const stacked = h > 1.1 * w;
    const wheel = stacked ? Math.min(w * 0.62, h * 0.34) : Math.min(h, w * 0.26);
    const [rw, rh] = stacked ? [w, h - wheel] : [w - wheel, h];
    const [B, r, L] = [s.bore_mm, s.stroke_mm / 2, s.rod_mm];
    const crown = 0.42 * B;
    const deck = L + r + crown;
    const tall = deck + 0.5 * B + r + 0.25 * B;
    const scale = Math.min((rw - 12) / (n * 1.3 * B), (rh - 44) / tall);
    const [wide, total] = [1.3 * B * scale, 1.3 * B * scale * n];
    for (let k = 1; k <= n; k++) {
      const deg = cycle(crank - s.offsets_deg[k - 1]);
      const kind = stroke(s, deg);
      const lift = lifts(s, deg);
      const { sparks, injects } = this.works(first?.cylinders.find((x) => x.cylinder === k), deg, s);
      const cx = x0 + (rw - total) / 2 + wide * (k - 0.5);
      const cy = y0 + 24 + (rh - 44 - scale * tall) / 2 + scale * (deck + 0.5 * B);
      const pin = L + r - drop(s, deg);
      g.save();
      g.translate(cx, cy);
      g.scale(scale, -scale);
      const px = 1 / scale;
      const line = (/** @type {number} */ width, /** @type {string} */ colour = c.ink) => {
        g.lineWidth = width * px;
        g.strokeStyle = colour;
        g.stroke();
      };
      g.fillStyle = this.gasColour(k, kind);
      g.fillRect(-0.5 * B, pin + crown, B, deck - pin - crown + 0.06 * B);
      // crank
      g.beginPath();
      g.arc(0, 0, r + 0.18 * B, 0, 7);
      line(1, c.line);
      g.beginPath();
      g.moveTo(0, pin);
      g.lineTo(r * Math.sin(rad(deg)), r * Math.cos(rad(deg)));
      line(4, c.edge);
      g.beginPath();
      g.moveTo(0, 0);
      g.lineTo(r * Math.sin(rad(deg)), r * Math.cos(rad(deg)));
      line(5);
      g.beginPath();
      g.arc(0, 0, 0.1 * B, 0, 7);
      g.fillStyle = c.ink;
      g.fill();
      g.fillStyle = c.metal;
      g.beginPath();
      g.rect(-0.49 * B, pin - 0.25 * B, 0.98 * B, crown + 0.25 * B);
      g.fill();
      line(1.6);
      g.beginPath();
      g.moveTo(-0.5 * B, deck - 1.75 * B);
      g.lineTo(-0.5 * B, deck + 0.06 * B);
      g.lineTo(0.5 * B, deck + 0.06 * B);
      g.lineTo(0.5 * B, deck - 1.75 * B);
      line(k === this.large ? 3 : 1.8);
      for (const [sign, share] of /** @type {[number, number][]} */ ([[-1, lift.inlet], [1, lift.exhaust]])) {
        const y = deck + 0.04 * B - 0.14 * B * share;
        g.beginPath();
        g.moveTo((sign * 0.26 - 0.17) * B, y);
        g.lineTo((sign * 0.26 + 0.17) * B, y);
        g.moveTo(sign * 0.26 * B, y);
        g.lineTo(sign * 0.26 * B, y + 0.42 * B);
        line(share > 0 ? 3 : 1.8);
      }
      if (injects) {
        g.beginPath();
        g.arc(-0.62 * B, deck + 0.28 * B, 0.1 * B, 0, 7);
        g.fillStyle = c.fuel;
        g.fill();
      }
      if (sparks) {
        g.beginPath();
        g.arc(0, deck - 0.04 * B, 0.11 * B, 0, 7);
        g.fillStyle = c.accent;
        g.fill();
      }
      g.restore();
      g.textAlign = "center";
      g.fillStyle = c.ink;
      g.font = `700 16px ${FONT_FIGURES}`;
      g.fillText(String(k), cx, y0 + 18);
      const room = wide > 62;
      g.fillStyle = c.soft;
      g.font = `${room ? 13 : 12}px ${FONT_WORDS}`;
      if (wide > 44) g.fillText(say(`seat-stroke-${room ? kind : `short-${kind}`}`), cx, Math.min(cy + scale * (r + 0.2 * B) + 16, y0 + rh - 4));
    }
    const [mx, my] = stacked ? [x0 + w / 2, y0 + rh + wheel / 2 - 6] : [x0 + rw + wheel / 2, y0 + h / 2];
    this.wheel(g, s, crank, mx, my, 0.36 * wheel);
  }

  /** @param {CanvasRenderingContext2D} g @param {Shape} s @param {number} crank @param {number} x @param {number} y @param {number} R */
  wheel(g, s, crank, x, y, R) {
    const c = this.colours;
    if (R < 20) return;
    g.save();
    g.translate(x, y);
    g.beginPath();
    for (let k = 0; k < TEETH; k++) {
      // tooth 1 passes the sensor at the top so far before cylinder 1's top
      const at = rad(crank + s.first_tooth_btdc_deg - 6 * k - 90);
      g.moveTo((R - 5) * Math.cos(at), (R - 5) * Math.sin(at));
      g.lineTo(R * Math.cos(at), R * Math.sin(at));
    }
    g.lineCap = "butt";
    g.lineWidth = Math.max(1.5, 0.055 * R);
    g.strokeStyle = c.ink;
    g.stroke();
    g.beginPath();
    g.arc(0, 0, R - 5, 0, 7);
    g.lineWidth = 1.8;
    g.stroke();
    g.beginPath();
    g.arc(0, 0, 0.16 * R, 0, 7);
    g.stroke();
    g.beginPath();
    g.rect(-5, -R - 16, 10, 13);
    g.fillStyle = c.meas;
    g.fill();
    g.fillStyle = c.soft;
    g.font = `13px ${FONT_WORDS}`;
    g.textAlign = "center";
    if (R > 44) {
      const passed = Math.floor(((((crank + s.first_tooth_btdc_deg) % 360) + 360) % 360) / 6) + 1;
      g.fillText(say("seat-engine-tooth"), 0, 0.16 * R + 18);
      g.fillStyle = c.meas;
      g.font = `16px ${FONT_FIGURES}`;
      g.fillText(passed <= TEETH ? String(passed) : say("seat-engine-gap"), 0, 0.16 * R + 36);
    }
    g.restore();
  }
}

const FONT_WORDS = '"Atkinson Next", system-ui, sans-serif';
const FONT_FIGURES = '"Atkinson Mono", ui-monospace, monospace';

/** Plain numbers of the engine, for who does not see a drawing. */
export function numbers() {
  const body = el("tbody", null);
  const node = el(
    "details",
    { class: "numbers" },
    el("summary", { text: say("seat-values") }),
    el("table", null, el("caption", { class: "sight-less", text: say("seat-values") }), body),
  );
  const show = (/** @type {{ id: string, name: string, text: string }[]} */ values) => {
    if (!node.open) return;
    const rows = [...body.children];
    if (rows.length !== values.length) {
      fill(body, ...values.map(() => el("tr", null, el("th", { scope: "row" }), el("td", { class: "number meas" }))));
    }
    values.forEach((v, k) => {
      const row = body.children[k];
      setText(row.children[0], v.name);
      setText(row.children[1], v.text);
    });
  };
  return { node, show };
}

/** One step on, for who wants to see it: a tooth, a working cycle. @param {(what: "tooth" | "cycle") => void} step */
export function steps(step) {
  return el(
    "div",
    { class: "row" },
    button(say("seat-time-tooth"), () => step("tooth")),
    button(say("seat-time-cycle"), () => step("cycle")),
  );
}
