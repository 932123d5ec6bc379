// Why a beer is off: a finding is told, causes and tests follow, a result moves them, and
// the remedy goes into a copy; on a desk and on a phone, without scripts.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const first = (page) => page.locator(".cause h3").first();

for (const [where, viewport] of WIDTHS) {
  test(`a finding leads to causes and tests ${where}, and a remedy into the next batch`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.goto(`${batch}/inquiry`);
    assert.match(await page.locator("main").innerText(), /Nothing that was found asks for a cause/);
    await page.getByLabel("Finding", { exact: true }).selectOption("cooked-corn");
    await page.getByLabel("How strong").selectOption("clear");
    await page.getByRole("button", { name: "Keep this finding" }).click();
    await page.waitForURL("**/inquiry");
    assert.match(await page.locator(".found").innerText(), /cooked sweetcorn.*clear/);
    const cause = await first(page).innerText();
    assert.match(cause, /boil|chilling/);
    assert.deepEqual(await violations(page), []);
    const sideways = await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth);
    assert.equal(sideways, false, "nothing is cut off at the side");
    const before = await page.locator(".cause .chance").first().innerText();
    await page.getByRole("button", { name: /^It is so: Pour it between two glasses/ }).click();
    await page.waitForURL("**/inquiry");
    assert.notEqual(await page.locator(".cause .chance").first().innerText(), before, "a result moves the chance");
    await page.getByRole("button", { name: /^Put it into the next batch/ }).first().click();
    await page.waitForURL((url) => !url.pathname.endsWith("/inquiry"));
    assert.match(await page.locator("#title").innerText(), /, next$/);
  });
}

test("without scripts the same, and what cannot be read is told", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/inquiry`);
  await page.getByLabel("Finding", { exact: true }).selectOption("butter");
  await page.getByRole("button", { name: "Keep this finding" }).click();
  await page.getByLabel("Finding", { exact: true }).selectOption("butter");
  await page.getByRole("button", { name: "Keep this finding" }).click();
  assert.match(await page.getByRole("alert").innerText(), /butter is said twice/);
  await page.goto(`${batch}/inquiry`);
  await page.getByRole("button", { name: /^take out butter/ }).click();
  assert.match(await page.locator("main").innerText(), /Nothing yet/);
});

test("causes, findings and tests can be read, and their pages break no rule", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page, "lantern-pale");
  const origin = new URL(page.url()).origin;
  for (const path of ["", "/cause/chloramine-in-water", "/finding/medicinal", "/test/sulfite-glass"]) {
    await page.goto(`${origin}/knowledge${path}`);
    assert.deepEqual(await violations(page), [], path);
  }
  const gone = await page.goto(`${origin}/knowledge/cause/gremlins`);
  assert.equal(gone.status(), 404);
});
