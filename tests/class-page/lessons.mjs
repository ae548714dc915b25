// Two lessons from joining to the debrief, each by the pointer and by keys alone.

import { check, newPage, picture, Room, run, Seat, until, Wall } from "./lib.mjs";

const IDLES = process.env.LESSON_IDLES ?? "idles-high";
const FLASHES = process.env.LESSON_FLASHES ?? "flashes-at-high-revs";

/** @param {string} lesson @param {"pointer" | "keys"} by @param {(seat: Seat) => Promise<void>} work */
async function taught(lesson, by, work) {
  const room = await new Room().open();
  try {
    const wall = new Wall(await newPage({ name: "wall" }), "pointer");
    await wall.enter(room);
    const seat = new Seat(await newPage({ name: "seat" }), by);
    await seat.join(room, "fox");
    await wall.tile("fox").waitFor();
    await wall.assign(lesson);
    await seat.begin();
    await work(seat);
    await seat.handIn();
    await until("the tile to say so", async () => (await wall.tile("fox").innerText()).includes("handed over"));
    check((await seat.page.getByRole("link", { name: "Open the debrief" }).count()) === 0, "no debrief before it is released");
    await wall.release();
    const link = seat.page.getByRole("link", { name: "Open the debrief" });
    await link.waitFor();
    const [debrief] = await Promise.all([seat.page.context().waitForEvent("page"), seat.on(link)]);
    await debrief.waitForLoadState();
    const text = await debrief.locator("body").innerText();
    check(/Passed: \d/.test(text), `the job is passed: ${text.slice(0, 400)}`);
    await picture(seat.page, `${lesson}-${by}-end`);
  } finally {
    await room.kill();
  }
}

/** @param {Seat} seat */
async function idles(seat) {
  const mind = seat.page.locator(".mind");
  await seat.press(/^Read codes/, mind);
  await mind.getByText("P0507", { exact: true }).waitFor();
  await seat.press(/^Read learned values/, mind);
  await seat.page.locator(".value").first().waitFor();
  await seat.cause("stale-idle-air");
  await seat.key("off");
  await seat.wait(12);
  await seat.key("on");
  await seat.wait(2);
  await seat.ask("reset_idle_air", "Reset");
  await seat.answer("after-reset", 720);
  await seat.wait(2);
  await seat.key("start");
  await seat.wait(10);
  await seat.ask("learn_idle", "Start");
  await until("the learn to run", async () => (await seat.routine()) === "running");
  for (let k = 0; k < 18 && (await seat.routine()) === "running"; k++) await seat.wait(10);
  check((await seat.routine()) === "done", `the idle is learned: ${await seat.routine()}`);
  await seat.wait(35);
  for (let trip = 0; trip < 2; trip++) {
    await seat.key("off");
    await seat.wait(12);
    await seat.key("on");
    await seat.wait(2);
    await seat.key("start");
    await seat.wait(60);
  }
  await seat.ask("read_codes", "Read");
  await seat.wait(2);
  check(Math.abs((await seat.value("engine speed")) - 720) < 60, `it idles at ${await seat.value("engine speed")} rpm`);
}

/** @param {Seat} seat */
async function flashes(seat) {
  const mind = seat.page.locator(".mind");
  await seat.press(/^Read codes/, mind);
  await seat.press(/^Freeze frame of P0300/, mind);
  await seat.press(/^Read learned values/, mind);
  await seat.page.locator(".value").first().waitFor();
  await seat.hold(3800, 0);
  await seat.wait(20);
  await seat.hold(3800, 60);
  await seat.answer("load", "fewer");
  await seat.wait(20);
  await seat.liftPedal();
  await seat.cause("wheel-table");
  await seat.wait(10);
  await seat.ask("clear_codes", "Clear");
  await seat.wait(3);
  await seat.ask("learn_wheel", "Start");
  await seat.answer("learned", "none");
  await until("the learn to run", async () => (await seat.routine()) === "running");
  await seat.wait(1);
  for (let k = 0; k < 8 && (await seat.routine()) === "running"; k++) {
    await seat.hold(3550, 0);
    await seat.wait(2);
    // as a person does: on the prompt, not by the clock
    for (let s = 0; s < 60 && !(await seat.prompt()).includes("Release the pedal now"); s++) await seat.wait(0.5);
    await seat.liftPedal();
    await seat.wait(4);
  }
  check((await seat.routine()) === "done", `the wheel is learned: ${await seat.routine()}`);
  await seat.wait(10);
  for (let trip = 0; trip < 2; trip++) {
    await seat.key("off");
    await seat.wait(15);
    await seat.key("on");
    await seat.wait(2);
    await seat.key("start");
    await seat.wait(15);
    await seat.hold(3800, 0);
    await seat.wait(45);
    await seat.liftPedal();
    await seat.wait(15);
  }
  await seat.ask("read_codes", "Read");
  await seat.wait(20);
}

await run({
  "idles-pointer": () => taught(IDLES, "pointer", idles),
  "idles-keys": () => taught(IDLES, "keys", idles),
  "flashes-pointer": () => taught(FLASHES, "pointer", flashes),
  "flashes-keys": () => taught(FLASHES, "keys", flashes),
});
