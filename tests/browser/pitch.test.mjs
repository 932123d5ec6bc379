// The yeast to pitch: a slurry is counted, a starter is kept, both come out again; on a
// desk and on a phone, without scripts; wrong input keeps what was typed.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);
const field = (page, name) => part(page, "count").locator(`[name="${name}"]`);

async function pitch(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.getByRole("link", { name: "yeast to pitch", exact: true }).click();
  await page.waitForURL("**/pitch");
  return { page, batch };
}

async function count(page, values) {
  if (!(await field(page, "cells").isVisible())) await part(page, "count").locator("summary").click();
  for (const [name, value] of Object.entries(values)) {
    const input = field(page, name);
    if (name === "over" || name === "dye") await input.selectOption(value);
    else await input.fill(value);
  }
  await page.getByRole("button", { name: "Keep this count" }).click();
}

// 187/5 × 25 × 10⁴ × 100 × 188/200 cells/mL in 100 mL: 88 billion.
const COUNTED = { slurry: "100 mL", cells: "187", over: "groups", squares: "5", dilution: "100", dead: "12", of: "200" };

for (const [where, viewport] of WIDTHS) {
  test(`a slurry is counted and a starter kept ${where}, and the page breaks no rule`, async () => {
    const { page, batch } = await pitch({ viewport });
    assert.match(await part(page, "need").innerText(), /cells needed/);
    assert.match(await part(page, "ways").innerText(), /Pitch what is there/);
    assert.match(await part(page, "cases").innerText(), /half the cells needed/);
    assert.match(await part(page, "oxygen").innerText(), /Feeds fire/);
    const before = await revision(page);
    await count(page, COUNTED);
    await part(page, "kept").waitFor();
    assert.equal(await revision(page), before + 1);
    assert.match(await part(page, "kept").innerText(), /187 cells over 5 groups, diluted 100 times/);
    assert.match(await part(page, "need").innerText(), /\b88 ± /);

    await page.getByRole("button", { name: /Keep this: Make a stirred starter/ }).click();
    await part(page, "kept").getByText(/dried malt extract/).waitFor();
    assert.equal(await revision(page), before + 2);
    assert.match(await part(page, "kept").innerText(), /Boiling a starter/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);

    await page.goto(`${batch}/sheet`);
    assert.match(await page.locator("main").innerText(), /dried malt extract/);
    await page.goBack();
    await page.getByRole("button", { name: "Take the starter out" }).click();
    await page.waitForLoadState();
    assert.equal(await part(page, "kept").getByText(/dried malt extract/).count(), 0);
  });
}

test("a count that cannot be is told beside its field and kept there", async () => {
  const { page } = await pitch();
  const before = await revision(page);
  await count(page, { ...COUNTED, cells: "<b>many", dead: "300" });
  await page.locator("#cells-fault").waitFor();
  assert.equal(await field(page, "cells").inputValue(), "<b>many");
  assert.equal(await field(page, "slurry").inputValue(), "100 mL");
  assert.equal(await field(page, "cells").getAttribute("aria-invalid"), "true");
  await count(page, { ...COUNTED, dead: "300" });
  assert.match(await page.locator('[role="alert"]').first().innerText(), /dead cells/);
  assert.equal(await revision(page), before);
});

test("without scripts a small vessel asks for more steps, and a wrong one is told", async () => {
  const { page } = await pitch({ javaScriptEnabled: false });
  await count(page, { ...COUNTED, slurry: "30 mL" });
  const wish = (name) => part(page, "wish").locator(`[name="${name}"]`);
  const look = () => page.getByRole("button", { name: "Look for starters" }).click();
  const steps = async () => (await part(page, "ways").locator("li").filter({ hasText: "still starter" }).first().innerText());
  assert.doesNotMatch(await steps(), /holds no more/);
  await wish("vessel").fill("1 L");
  await look();
  assert.match(await steps(), /holds no more/);
  await wish("vessel").fill("a bathtub");
  await look();
  assert.match(await page.locator("#vessel-fault").innerText(), /vessel|volume|number|unit/i);
  assert.equal(await wish("vessel").inputValue(), "a bathtub");
});
