// What the module believes: codes, gates, learned values on rulers, sums as sums, trims, readiness.

import { button, el, fill, gate, keyed, put, setText, svg, whenChanged } from "./dom.js";
import { number, quantity, say, signed } from "./words.js";

/**
 * A ruler: end stops are limits, a notch the default, the dashed bar what was learned, an ink mark the real part.
 * @param {{ low: number, high: number, default: number, value: number, truth?: number | null }} r
 */
export function ruler(r) {
  const span = Math.max(r.high - r.low, 1e-9);
  const x = (/** @type {number} */ v) => 8 + (284 * (Math.max(r.low, Math.min(r.high, v)) - r.low)) / span;
  const [a, b] = [x(r.default), x(r.value)];
  const node = svg("svg", { viewBox: "0 0 300 34", class: "ruler", "aria-hidden": "true" });
  node.append(
    svg("path", { class: "edge", d: "M8 24H292M8 15V33M292 15V33" }),
    svg("path", { class: "edge", d: `M${a} 17V31` }),
  );
  if (Math.abs(b - a) > 1) node.append(svg("rect", { x: Math.min(a, b), y: 10, width: Math.abs(b - a), height: 10, class: "hatched" }));
  node.append(svg("path", { class: "pencil-mark", d: `M${b} 3V22` }));
  if (r.truth !== undefined && r.truth !== null) node.append(svg("path", { class: "truth", d: `M${x(r.truth)} 24V34` }));
  return node;
}

/**
 * A sum, drawn as one: each bar begins where the one before ended.
 * @param {{ name: string, value: number, learned?: boolean }[]} terms
 * @param {(x: number) => string} words
 */
export function sum(terms, words) {
  let at = 0;
  const bars = terms.map((t) => {
    const from = at;
    at += t.value;
    return { ...t, from, to: at };
  });
  const low = Math.min(0, ...bars.map((b) => Math.min(b.from, b.to)));
  const high = Math.max(1e-9, ...bars.map((b) => Math.max(b.from, b.to)));
  const x = (/** @type {number} */ v) => 1 + (118 * (v - low)) / Math.max(high - low, 1e-9);
  const bar = (/** @type {{ from: number, to: number, learned?: boolean }} */ b) =>
    svg(
      "svg",
      { viewBox: "0 0 120 16", class: "term", "aria-hidden": "true", preserveAspectRatio: "none" },
      svg("rect", {
        x: x(Math.min(b.from, b.to)),
        y: 2,
        width: Math.max(Math.abs(x(b.to) - x(b.from)), 1),
        height: 12,
        class: b.learned ? "hatched" : "outlined",
      }),
    );
  return el(
    "table",
    { class: "sum" },
    el(
      "tbody",
      null,
      ...bars.map((b) =>
        el("tr", null, el("th", { scope: "row", text: b.name }), el("td", null, bar(b)), el("td", { class: "number pencil", text: words(b.value) })),
      ),
      el("tr", { class: "strong" }, el("th", { scope: "row", text: say("seat-sum-whole") }), el("td"), el("td", { class: "number", text: words(at) })),
    ),
  );
}

/** A part of the panel with its heading. @param {string} id @param {string} title */
function part(id, title) {
  const body = el("div", { class: "rows" });
  const node = el("section", { "aria-labelledby": id, class: "part" }, el("h3", { id, text: title }), body);
  return { node, body, changed: whenChanged() };
}

/**
 * The module's panel. `offer` gives a button for an act with its price, none where it may not be done now; `readFrame`
 * the button of a code's freeze frame.
 * @param {(act: any) => Node | null} offer
 * @param {boolean} [tells] how a routine stands is told here
 */
export function mind(offer, tells = true) {
  const routine = tells ? el("p", { class: "strong routine", role: "status" }) : null;
  const codes = part("mind-codes", say("seat-mind-codes"));
  const gates = part("mind-gates", say("seat-mind-gates"));
  const learned = part("mind-learned", say("seat-mind-learned"));
  const idle = part("mind-idle", say("seat-sum-idle"));
  const fuel = part("mind-fuel", say("seat-sum-fuel"));
  const charging = part("mind-charging", say("seat-sum-charging"));
  const trims = part("mind-trims", say("seat-mind-trims"));
  const ready = part("mind-ready", say("seat-mind-ready"));
  const watched = part("mind-watched", say("seat-mind-watched"));
  const node = el(
    "div",
    { class: "rows mind" },
    routine,
    ...[watched, codes, gates, learned, idle, fuel, charging, trims, ready].map((p) => p.node),
  );
  const unread = (/** @type {HTMLElement} */ body, /** @type {any} */ act) =>
    fill(body, el("p", { class: "soft small", text: say("seat-not-read") }), offer(act));

  /** Learned values that moved while the car was here. @type {Set<string>} */
  const moved = new Set();
  /** @param {any} view @param {any} texts what the server words @param {boolean} may acts can still be done */
  const show = (view, texts, may) => {
    const seen = view.first?.seen ?? {};
    const live = seen.live ?? {};
    if (routine) {
      setText(routine, texts.routine ?? "");
      put(routine, { class: `strong routine${live.routine === "failed" ? " accent" : ""}`, "data-stands": live.routine });
      routine.hidden = !routine.textContent;
    }
    const read = Boolean(texts.learned);
    const later = () => el("p", { class: "soft small", text: say("seat-sum-later") });

    codes.changed([texts.codes, may], () => {
      if (!texts.codes) return unread(codes.body, { ask: "read_codes" });
      if (texts.codes.length === 0) return fill(codes.body, el("p", { text: say("seat-mind-no-code") }));
      fill(
        codes.body,
        ...texts.codes.map((/** @type {any} */ c) =>
          el(
            "div",
            { class: "code" },
            el("p", { class: "accent" }, el("span", { class: "figure strong", text: c.code }), ` ${c.status ?? ""}`),
            el("p", { class: "soft small", text: c.name ?? "" }),
            c.frame === undefined || c.frame === null
              ? offer({ ask: { read_freeze_frame: c.code } })
              : c.frame.length === 0
                ? el("p", { class: "soft small", text: say("seat-mind-no-frame") })
                : el(
                    "table",
                    null,
                    el("caption", { class: "soft small", text: say("seat-mind-frame", { code: c.code }) }),
                    el("tbody", null, ...c.frame.map((/** @type {[string, string]} */ [k, v]) => el("tr", null, el("th", { scope: "row", text: k }), el("td", { class: "number meas", text: v })))),
                  ),
          ),
        ),
      );
    });

    const values = texts.learned ?? null;
    gates.changed([values?.map((/** @type {any} */ v) => v.gates), texts.gates, may], () => {
      gates.node.hidden = !values;
      if (!values) return;
      if (texts.gates === "hidden" || values.some((/** @type {any} */ v) => v.gates === "hidden")) {
        return fill(gates.body, el("p", { class: "soft small", text: say("seat-mind-find-out") }));
      }
      // the same gates are told once
      /** @type {{ names: string[], gates: { open: boolean, text: string }[] }[]} */
      const told = [];
      for (const v of values) {
        if (!v.gates?.length) continue;
        const same = told.find((o) => JSON.stringify(o.gates) === JSON.stringify(v.gates));
        if (same) same.names.push(v.name);
        else told.push({ names: [v.name], gates: v.gates });
      }
      gates.node.hidden = told.length === 0;
      keyed(
        gates.body,
        told,
        (o) => o.names[0],
        (o) => el("details", { open: o === told[0] }, el("summary", null), el("ul", null)),
        (details, o) => {
          const shut = o.gates.filter((g) => !g.open).length;
          const words = shut === 0 ? say("seat-gates-open", { names: o.names.join(", ") }) : say("seat-gates-shut", { names: o.names.join(", "), n: shut });
          setText(details.firstElementChild, words);
          put(details.firstElementChild, { class: shut ? "accent" : "ok" });
          const sorted = [...o.gates.filter((g) => !g.open), ...o.gates.filter((g) => g.open)];
          keyed(
            details.lastElementChild,
            sorted,
            (g) => `${g.open} ${g.text}`,
            (g) => gate(g.open, g.text, say(g.open ? "seat-gate-open" : "seat-gate-shut")),
          );
        },
      );
    });

    learned.changed([values?.map((/** @type {any} */ v) => [v.id, v.text, v.by]), may, view.first?.truth && view.lid_open], () => {
      if (!values) return unread(learned.body, { ask: "read_learned" });
      const raw = new Map((seen.learned ?? []).map((/** @type {any} */ v) => [v.name, v]));
      const one = (/** @type {any} */ v) => {
        const r = raw.get(v.id);
        const truth = view.first?.truth ? truthOf(v.id, view.first.truth) : null;
        const spoken = [say("seat-ruler", { name: v.name, text: v.text, default: v.default ?? "", low: v.low ?? "", high: v.high ?? "" }), v.by ?? ""].join(" ");
        return el(
          "div",
          { class: "value" },
          el("p", { class: "pair" }, el("span", { text: v.name }), el("span", { class: "figure pencil strong", text: v.text })),
          r ? ruler({ ...r, truth }) : null,
          el("p", { class: "soft small", text: v.by ? say("seat-learned-by", { default: v.default ?? "", by: v.by }) : "" }),
          el("span", { class: "sight-less", text: spoken }),
        );
      };
      // a value that has moved since the car came in stays where it was, also when it is back at its default
      for (const r of seen.learned ?? []) if (r.value !== r.default || r.learned || r.written_s >= view.hand_over_s) moved.add(r.name);
      const told = values.filter((/** @type {any} */ v) => !raw.has(v.id) || moved.has(v.id) || view.first?.truth);
      const rest = values.filter((/** @type {any} */ v) => !told.includes(v));
      fill(
        learned.body,
        ...told.map(one),
        rest.length
          ? el("details", { open: told.length === 0 }, el("summary", { text: say("seat-learned-rest", { n: rest.length }) }), el("div", { class: "rows" }, ...rest.map(one)))
          : null,
        values.length ? null : el("p", { class: "soft small", text: say("seat-mind-no-power") }),
      );
    });

    const r = (/** @type {number} */ x, /** @type {number} */ d) => Math.round(x * 10 ** d) / 10 ** d;
    const idleTerms = live.idling && read
      ? [
          { name: say("seat-idle-base"), value: r(live.idle_base_g_s, 2) },
          { name: say("seat-idle-loads"), value: r(live.idle_load_g_s, 2) },
          { name: say("seat-idle-learned"), value: r(live.idle_learned_g_s, 2), learned: true },
          { name: say("seat-idle-pi"), value: r(live.idle_pi_g_s, 2) },
        ]
      : null;
    idle.changed([idleTerms, read], () =>
      fill(idle.body, !read ? later() : idleTerms ? sum(idleTerms, (x) => quantity(x, "g/s", 2, signed)) : el("p", { class: "soft small", text: say("seat-idle-not") })),
    );
    const f = read ? live.fuel : null;
    const fuelTerms = f
      ? [
          { name: say("seat-fuel-air"), value: r(f.by_air_g_s, 3) },
          { name: say("seat-fuel-target"), value: r(f.target_g_s, 3) },
          { name: say("seat-fuel-long"), value: r(f.long_g_s, 3), learned: true },
          { name: say("seat-fuel-short"), value: r(f.short_g_s, 3) },
          { name: say("seat-fuel-start"), value: r(f.after_start_g_s, 3) },
        ]
      : null;
    fuel.changed([fuelTerms, read], () =>
      fill(fuel.body, !read ? later() : fuelTerms ? sum(fuelTerms, (x) => quantity(x, "g/s", 3, signed)) : el("p", { class: "soft small", text: say("seat-fuel-not") })),
    );
    const chargeTerms =
      live.charge_set_v > 0 && read
        ? [
            { name: say("seat-charge-base"), value: r(live.charge_base_v, 2) },
            { name: say("seat-charge-cold"), value: r(live.charge_cold_v, 2) },
            { name: say("seat-charge-age"), value: r(live.charge_age_v, 2), learned: true },
            { name: say("seat-charge-stage"), value: r(live.charge_stage_v, 2) },
          ]
        : null;
    charging.changed([chargeTerms, read, texts.battery, texts.stop_start, r(live.battery_a ?? 0, 0), r(live.battery_charge_pct ?? 0, 0)], () =>
      fill(
        charging.body,
        !read ? later() : chargeTerms ? sum(chargeTerms, (x) => `${signed(x, 2)} V`) : el("p", { class: "soft small", text: say("seat-charge-not") }),
        el("p", {
          class: "small",
          text: say("seat-battery", { current: signed(live.battery_a ?? 0, 1), temperature: quantity(live.battery_c ?? 0, "°C", 0), charge: number(live.battery_charge_pct ?? 0, 0) }),
        }),
        texts.stop_start ? el("ul", null, gate(texts.stop_start.open, texts.stop_start.text, "")) : null,
      ),
    );
    const cells = (seen.trims ?? []).map((/** @type {any} */ t) => [
      t.bank,
      [
        [say("seat-trim-short"), `${signed(t.short_pct, 1)} %`],
        // what the module has learned is not there before it was read
        ...(read
          ? [
              [say("seat-trim-idle"), quantity(t.long_idle_g_s, "g/s", 2, signed)],
              [say("seat-trim-part"), `${signed(t.long_part_pct, 1)} %`],
              [say("seat-trim-high"), `${signed(t.long_high_pct, 1)} %`],
            ]
          : []),
      ],
    ]);
    trims.changed(cells, () =>
      fill(
        trims.body,
        ...cells.flatMap((/** @type {any} */ [bank, rows]) => [
          cells.length > 1 ? el("p", { class: "soft small", text: say("seat-bank", { n: bank }) }) : null,
          el("table", null, el("tbody", null, ...rows.map((/** @type {string[]} */ [k, v]) => el("tr", null, el("th", { scope: "row", text: k }), el("td", { class: "number pencil", text: v }))))),
        ]),
      ),
    );
    ready.changed([texts.readiness, may], () => {
      if (!texts.readiness) return unread(ready.body, { ask: "read_readiness" });
      fill(ready.body, el("ul", null, ...texts.readiness.map((/** @type {any} */ m) => gate(m.complete ?? m.open, m.text ?? m.name, say(m.complete ?? m.open ? "seat-ready-yes" : "seat-ready-no")))));
    });
    watched.node.hidden = !texts.watched?.length || texts.tester === false;
    watched.changed(texts.watched, () =>
      fill(
        watched.body,
        el("table", null, el("tbody", null, ...(texts.watched ?? []).map((/** @type {any} */ v) => el("tr", null, el("th", { scope: "row", text: v.name }), el("td", { class: "number meas", text: v.text }))))),
      ),
    );
  };
  return { node, show, forget: () => moved.clear() };
}

/** What the fitted parts really are, where truth has it. @param {string} name @param {any} t */
function truthOf(name, t) {
  return { idle_air_light: t.idle_air_needed_g_s, closed_stop: t.closed_stop_deg, battery_charge: t.battery?.charge_pct }[name] ?? null;
}

/** @param {string} words @param {() => void} pressed */
export function small(words, pressed) {
  return button(words, pressed, "small");
}
