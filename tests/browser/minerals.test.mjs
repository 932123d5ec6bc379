// The search for salts and acid: from the water bench and back into the batch, on a
// desk and on a phone, without scripts, by keyboard, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const take = (page) => page.getByRole("button", { name: "Take these into the batch" });

for (const [where, viewport] of WIDTHS) {
  test(`what is found is taken into the batch ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale");
    const before = await revision(page);
    await page.getByRole("link", { name: "Find salts and acid for the aim" }).click();
    await page.waitForURL("**/minerals");
    assert.match(await page.locator("#minerals").innerText(), /gypsum|calcium chloride/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await take(page).click();
    await page.waitForURL("**/batch/*bench=water*");
    assert.equal(await revision(page), before + 1, "one revision");
    assert.match(await page.locator(".moved").innerText(), /salts and acid for the aim/);
  });
}

test("without scripts the address keeps the question", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/minerals`);
  await page.getByLabel("Kinds of addition, at most").fill("1");
  await page.getByRole("button", { name: "Find salts and acid" }).click();
  await page.waitForURL(/most=1/);
  const other = await (await set.open({ javaScriptEnabled: false })).newPage();
  await other.goto(page.url());
  assert.equal(await other.getByLabel("Kinds of addition, at most").inputValue(), "1");
  assert.match(await other.locator("#minerals").innerText(), /too (high|low)/);
});

test("what cannot be read is told beside its field, and stays there", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  const response = await page.goto(`${batch}/minerals?asked=1&have=gypsum&scale=two+spoons`);
  assert.equal(response.status(), 422);
  const scale = page.getByLabel("Step of the scale");
  assert.equal(await scale.inputValue(), "two spoons");
  assert.equal(await scale.getAttribute("aria-invalid"), "true");
  assert.notEqual(await page.locator("#scale-fault").innerText(), "");
  assert.equal(await take(page).count(), 0);
});

test("by keyboard a tick changes the answer at once", async () => {
  const page = await (await set.open()).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/minerals`);
  const acid = page.getByLabel("lactic acid 80 %", { exact: true });
  await acid.focus();
  const answered = page.waitForResponse((r) => r.url().includes("asked=1"));
  await page.keyboard.press("Space");
  assert.equal((await answered).status(), 200);
  await page.waitForURL(/asked=1/);
  assert.equal(await page.evaluate(() => document.activeElement.id), await acid.getAttribute("id"));
  assert.equal(await acid.isChecked(), false);
});
