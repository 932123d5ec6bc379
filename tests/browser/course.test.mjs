// The fermentation watched: readings come in, a point of the plan is dragged and moved by
// keys and the forecast follows, readings and results are kept; on a desk and on a phone,
// without scripts; wrong input keeps what was typed.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, picture, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);
const verdict = (page) => page.locator("#course .verdict").innerText();

// Invented: a hydrometer by hand over two and a half days.
const LOG = [["2026-03-14T15:00:00Z", 1.0528, 19.0], ["2026-03-15T07:00:00Z", 1.0502, 19.3], ["2026-03-15T20:00:00Z", 1.0441, 19.6],
  ["2026-03-16T08:00:00Z", 1.0370, 19.8], ["2026-03-16T20:00:00Z", 1.0309, 20.1], ["2026-03-17T08:00:00Z", 1.0262, 20.2]];

async function course(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.getByRole("link", { name: "fermentation watched", exact: true }).click();
  await page.waitForURL("**/course");
  return { page, batch };
}

/** A pack of the readings, as a sensor would send it. */
async function keepLog(page, batch) {
  const at = (time) => Date.parse(time) / 1000;
  const rows = LOG.map(([time, sg, temp]) => [
    { n: "hydrometer/sg", u: "/", v: sg, t: at(time) }, { n: "hydrometer/temperature", u: "Cel", v: temp, t: at(time) },
  ]).flat();
  const sent = await page.request.post(`/api${batch.replace("batch", "batches")}/readings`, {
    headers: { "content-type": "application/senml+json" }, data: JSON.stringify(rows),
  });
  assert.equal(sent.status(), 200, await sent.text());
  await page.reload();
}

/** The slider over a field of a point of the plan. */
const slider = (page, n, key) => page.locator(`input[data-slides="fermentation.course[${n}].${key}"]`);

async function moved(page, act) {
  const before = await verdict(page);
  const answer = page.waitForResponse((r) => r.url().includes("/course?"));
  await act();
  await (await answer).finished();
  await page.waitForFunction((text) => document.querySelector("#course .verdict").innerText !== text, before);
  return [before, await verdict(page)];
}

for (const [where, viewport] of WIDTHS) {
  test(`readings come in, a plan is dragged and kept ${where}, and the page breaks no rule`, async () => {
    const { page, batch } = await course({ viewport });
    assert.match(await verdict(page), /No gravity was read yet/);
    await keepLog(page, batch);
    assert.match(await verdict(page), /nine times in ten/);
    assert.match(await part(page, "readings").innerText(), /1\.037/);

    const before = await revision(page);
    const warm = slider(page, 3, "temperature");
    await warm.focus();
    const [, after] = await moved(page, () => page.keyboard.press("PageDown"));
    assert.match(after, /A plan that is tried/);
    assert.equal(await warm.evaluate((s) => document.activeElement === s), true, "the slider keeps the focus");
    const words = await warm.getAttribute("aria-valuetext");
    assert.equal(await page.locator('[name="fermentation.course[3].temperature"]').inputValue(), words);
    // By the pointer: to the cold end.
    const box = await warm.boundingBox();
    await moved(page, async () => {
      await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
      await page.mouse.down();
      await page.mouse.move(box.x + box.width * 0.2, box.y + box.height / 2, { steps: 4 });
      await page.mouse.up();
    });
    assert.equal(await revision(page), before, "nothing is kept by dragging");
    await picture(page, `course-${viewport.width}`);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page, { unfolded: true }), []);
    const kept = await page.locator('[name="fermentation.course[3].temperature"]').inputValue();
    await page.getByRole("button", { name: "Keep this plan" }).click();
    await page.waitForLoadState();
    assert.equal(await revision(page), before + 1);
    await page.goto(`${batch}?bench=ferment`);
    assert.equal(await page.locator('[name="fermentation.course[3].temperature"]').inputValue(), kept);
  });
}

test("a typed plan that cannot be is told, and the forecast of the kept one stays", async () => {
  const { page } = await course();
  const field = page.locator('[name="fermentation.course[2].temperature"]');
  await field.fill("lukewarm");
  await page.locator("#course").getByText(/cannot be read as it is/).waitFor();
  assert.equal(await field.inputValue(), "lukewarm");
  assert.match(await verdict(page), /nine times in ten/);
});

test("results of tests are kept and shown", async () => {
  const { page } = await course();
  await page.locator('[name="fermentation.forced_gravity"]').fill("1.0150");
  await page.locator('[name="fermentation.forced_time"]').fill("3 d");
  await part(page, "forced-fermentation").getByRole("button", { name: "Keep this result" }).click();
  await part(page, "forced-fermentation").getByText(/The sample ended at 1\.015/).waitFor();
  await page.getByRole("button", { name: "Butter in the heated one" }).click();
  await part(page, "forced-diketone").getByText(/is still there/).waitFor();
});

test("without scripts readings are kept, plans tried, and what is wrong stays in its field", async () => {
  const { page } = await course({ javaScriptEnabled: false });
  assert.equal(await slider(page, 2, "temperature").isVisible(), false);
  const reading = part(page, "reading");
  const keep = () => page.getByRole("button", { name: "Keep this reading" }).click();
  await reading.locator('[name="reading"]').fill("<b>heavy");
  await reading.locator('[name="at"]').fill("soon");
  await keep();
  assert.equal(await reading.locator('[name="reading"]').inputValue(), "<b>heavy");
  assert.equal(await reading.locator('[name="at"]').getAttribute("aria-invalid"), "true");
  await reading.locator('[name="reading"]').fill("1.030");
  await reading.locator('[name="at"]').fill("2026-03-16T18:30:00Z");
  await keep();
  assert.match(await part(page, "readings").innerText(), /1\.030/);
  await page.locator('[name="fermentation.course[2].temperature"]').fill("12 °C");
  await page.getByRole("button", { name: "Try this plan" }).click();
  assert.match(await verdict(page), /A plan that is tried/);
});
