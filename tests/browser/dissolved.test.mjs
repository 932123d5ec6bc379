// What is dissolved as what: from the water bench to the page and back into the batch,
// on a desk and on a phone, without scripts, by keyboard, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const link = (page) => page.getByRole("link", { name: "Look into the waters: acid, boil, lime" });
const answer = (page) => page.locator("#dissolved");

for (const [where, viewport] of WIDTHS) {
  test(`acid for the sparge is found and taken ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale");
    const before = await revision(page);
    assert.match(await page.locator('[data-part="dissolved"]').innerText(), /would scale/);
    await link(page).click();
    await page.waitForURL("**/dissolved");
    assert.match(await answer(page).innerText(), /boiled, poured off/);
    assert.deepEqual(await violations(page), []);
    await page.getByRole("link", { name: "acid for the sparge water" }).click();
    await page.waitForURL(/of=sparge/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await page.getByRole("button", { name: "Take this acid for the sparge water" }).click();
    await page.waitForURL("**/batch/*bench=water*");
    assert.equal(await revision(page), before + 1, "one revision");
    assert.match(await page.locator(".moved").innerText(), /acid for the sparge water/);
  });
}

test("without scripts the address keeps the question, and charts are saved with it", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/dissolved`);
  await page.getByLabel("Water", { exact: true }).selectOption("source 1");
  await page.getByLabel("To a pH or alkalinity").fill("25 mg/L as CaCO3");
  await page.getByRole("button", { name: "Reckon" }).click();
  await page.waitForURL(/to=25/);
  const other = await (await set.open({ javaScriptEnabled: false })).newPage();
  await other.goto(page.url());
  assert.equal(await other.getByLabel("Water", { exact: true }).inputValue(), "source 1");
  assert.match(await answer(other).innerText(), /alkalinity 25 mg\/L as CaCO3/);
  for (const [name, kind] of [["acid.svg", "image/svg+xml"], ["lime.csv", "text/csv"]]) {
    const file = await page.request.get(page.url().replace("/dissolved?", `/dissolved/${name}?`));
    assert.equal(file.status(), 200);
    assert.ok(file.headers()["content-type"].startsWith(kind));
  }
});

test("what cannot be read is told beside its field and stays there; the rest is answered", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  const response = await page.goto(`${batch}/dissolved?to=%3Cb%3Esour&lime=two+spoons`);
  assert.equal(response.status(), 422);
  const to = page.getByLabel("To a pH or alkalinity");
  assert.equal(await to.inputValue(), "<b>sour");
  assert.equal(await to.getAttribute("aria-invalid"), "true");
  assert.match(await page.locator("#to-fault").innerText(), /neither a pH nor an alkalinity/);
  assert.match(await answer(page).innerText(), /heated/);
});

test("by keyboard a change is answered at once, in the field where one types", async () => {
  const page = await (await set.open()).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/dissolved`);
  const heated = page.getByLabel("Heated to");
  await heated.focus();
  await page.keyboard.type("90 °C");
  const answered = page.waitForResponse((r) => r.url().includes("temperature="));
  await page.keyboard.press("Enter");
  assert.equal((await answered).status(), 200);
  await page.waitForURL(/temperature=/);
  await page.locator("#dissolved td", { hasText: "90.0 °C" }).first().waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), "temperature");
});
