// Waters, brewhouses and stores: kept, changed, and taken into a batch.
import assert from "node:assert/strict";
import { test } from "node:test";
import { bench, field, figure, keepExamples, openDemo, revision } from "./lib.mjs";

const set = await bench();

test("the examples are kept, and a fault in one is told with what was typed", async () => {
  const page = await (await set.open()).newPage();
  await keepExamples(page);
  await page.goto("/brewhouses");
  await page.locator("tbody th a").first().click();
  const input = field(page, "kit.evaporation");
  const before = await input.inputValue();
  await input.fill("three");
  await input.press("Enter");
  await page.locator(".trouble").waitFor();
  assert.equal(await input.inputValue(), "three");
  assert.match(await page.locator(".fault").innerText(), /three/);
  await input.fill("3.3 kg/h");
  await input.press("Enter");
  await page.waitForURL(/\/brewhouses\/[^/]+$/);
  assert.equal(await input.inputValue(), "3.3 kg/h");
  assert.notEqual(before, "3.3 kg/h");
  assert.equal(await revision(page), 2);
});

test("a fault does not put back what somebody else saved", async () => {
  const context = await set.open();
  const one = await context.newPage();
  await keepExamples(one);
  await one.goto("/brewhouses");
  await one.locator("tbody th a").first().click();
  const two = await context.newPage();
  await two.goto(one.url());
  await field(one, "kit.altitude").fill("310 m");
  await field(one, "kit.altitude").press("Enter");
  await one.waitForFunction(() => document.querySelector("#beside")?.textContent === "revision 2");
  await field(two, "kit.evaporation").fill("three");
  await field(two, "kit.evaporation").press("Enter");
  await two.locator(".trouble").waitFor();
  assert.equal(await field(two, "kit.altitude").inputValue(), "310 m");
});

test("a water is taken into a batch in place, and the stream moves", async () => {
  const page = await (await set.open()).newPage();
  await keepExamples(page);
  await openDemo(page, "towpath-amber");
  await page.evaluate(() => { window.stillHere = true; });
  const before = await figure(page, "mash", "pH").innerText();
  await page.getByText("Take a water you keep").click();
  await page.locator("#place").selectOption("1");
  await page.getByRole("button", { name: "Take it into this batch" }).click();
  await page.locator(".moved").waitFor();
  assert.equal(await revision(page), 2);
  assert.ok(await page.evaluate(() => window.stillHere), "the page was not loaded again");
  const [was, now] = (await figure(page, "mash", "pH").innerText()).split(" → ");
  assert.equal(was, before);
  assert.notEqual(now, before);
});

test("a hop at hand says how it was kept, and what cannot be stays in its field", async () => {
  const page = await (await set.open()).newPage();
  await keepExamples(page);
  await page.goto("/stores");
  await page.locator("tbody th a").first().click();
  const index = field(page, "hop[1].storage_index");
  const left = page.locator("section", { has: page.getByRole("heading", { name: "Hops as they are now" }) });
  assert.match(await left.innerText(), /Perle\s+7\.4 ± /);
  await index.fill("0.40");
  await index.press("Enter");
  await page.waitForFunction(() => document.querySelector("#beside")?.textContent === "revision 2");
  assert.match(await left.innerText(), /Perle\s+6\.\d ± /);
  await index.fill("stale");
  await index.press("Enter");
  await page.locator(".trouble").waitFor();
  assert.equal(await index.inputValue(), "stale");
});
