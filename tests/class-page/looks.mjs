// Every page in three sizes and two themes: nothing to scroll sideways, nothing that hinders, large enough to be touched.

import { accessible, check, fits, newPage, PHONE, picture, Room, run, Seat, TABLET, until, Wall, WIDE } from "./lib.mjs";

const IDLES = process.env.LESSON_IDLES ?? "idles-high";
const SIZES = /** @type {[string, { width: number, height: number }][]} */ ([
  ["1366", WIDE],
  ["820", TABLET],
  ["390", PHONE],
]);
const THEMES = /** @type {("light" | "dark")[]} */ (["light", "dark"]);

/** What is touched is no smaller than a fingertip. @param {import("playwright-core").Page} page @param {string} what */
async function touchable(page, what) {
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("button, select, summary, a.press")]
      .filter((n) => /** @type {any} */ (n).checkVisibility({ checkVisibilityCSS: true, checkOpacity: true }))
      .map((n) => ({ n, r: n.getBoundingClientRect() }))
      .filter(({ n, r }) => r.width > 0 && !n.classList.contains("skip") && (r.height < 39.5 || r.width < 39.5))
      .map(({ n, r }) => `${n.textContent?.slice(0, 20)} ${r.width.toFixed(0)}×${r.height.toFixed(0)}`),
  );
  check(small.length === 0, `${what} can be touched: ${small.slice(0, 5).join("; ")}`);
}

/** @param {string} size @param {{ width: number, height: number }} viewport @param {"light" | "dark"} theme */
async function looked(size, viewport, theme) {
  const room = await new Room().open();
  try {
    const wall = new Wall(await newPage({ viewport, theme, name: "wall" }), "pointer");
    await wall.enter(room);
    const door = await newPage({ viewport, theme, name: "door" });
    await door.goto(room.url);
    await door.getByLabel(/class word/i).waitFor();
    await fits(door, "the way in");
    await accessible(door, "the way in");
    const seat = new Seat(await newPage({ viewport, theme, name: "seat" }), "pointer");
    await seat.join(room, "fox");
    await wall.tile("fox").waitFor();
    await wall.assign(IDLES);
    await seat.page.getByRole("button", { name: /I have read them/ }).waitFor();
    await accessible(seat.page, "cautions");
    await picture(seat.page, `cautions-${size}-${theme}`);
    await seat.begin();
    const tag = `${size}-${theme}`;
    const go = async (/** @type {string} */ name) => {
      const place = seat.page.getByRole("navigation").getByRole("button", { name, exact: true });
      if (await place.isVisible()) await place.click();
    };
    await go("Module");
    await seat.press(/^Read codes/, seat.page.locator(".mind"));
    await seat.press(/^Read learned values/, seat.page.locator(".mind"));
    await seat.page.locator(".value").first().waitFor();
    await seat.page.locator("#mind").evaluate((n) => n.scrollTo(0, 0));
    await seat.page.locator("#main").evaluate((n) => n.scrollTo(0, 0));
    await fits(seat.page, "the module");
    await accessible(seat.page, "the module");
    if (viewport.width < 1000) await picture(seat.page, `module-${tag}`);
    await go("Tools and parts");
    await seat.page.locator('#group-tools li[data-key="compression"] > button').click();
    await fits(seat.page, "work");
    await accessible(seat.page, "work");
    if (viewport.width < 1000) {
      await touchable(seat.page, "work");
      await picture(seat.page, `work-${tag}`);
    }
    await seat.page.locator('#group-tools li[data-key="compression"] > button').click();
    await go("Car");
    await seat.page.getByRole("button", { name: "Run", exact: true }).click();
    await until("some seconds", async () => (await seat.time()) >= 3);
    for (const [tab, name] of [["Traces", "traces"], ["Reluctor", "wheel"], ["Cylinders", "cylinders"], ["Engine", "seat"]]) {
      await seat.page.getByRole("tab", { name: tab, exact: true }).click();
      await seat.page.waitForTimeout(400);
      await fits(seat.page, name);
      await accessible(seat.page, name);
      if (viewport.width < 1000) await touchable(seat.page, name);
      await picture(seat.page, `${name}-${tag}`);
    }
    const busy = await seat.page.locator(".engine-canvas").evaluate((n) => {
      const c = /** @type {HTMLCanvasElement} */ (n);
      const all = c.getContext("2d")?.getImageData(0, 0, c.width, c.height).data ?? [];
      return all.some((x) => x !== 0);
    });
    check(busy, "the engine is drawn");
    await until("the tile to tell a speed", async () => /\d{3,4}/.test(await wall.tile("fox").locator(".rpm dd").innerText()));
    await fits(wall.page, "the wall");
    await accessible(wall.page, "the wall");
    if (viewport.width < 1000) await touchable(wall.page, "the wall");
    await picture(wall.page, `wall-${tag}`);
    await wall.press("Look at fox");
    await wall.page.getByText("idle air needed").waitFor();
    await accessible(wall.page, "a seat looked at");
    await picture(wall.page, `look-${tag}`);
  } finally {
    await room.kill();
  }
}

await run(
  Object.fromEntries(SIZES.flatMap(([size, viewport]) => THEMES.map((theme) => [`looks-${size}-${theme}`, () => looked(size, viewport, theme)]))),
);
