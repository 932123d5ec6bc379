// The choice of waters: from the water bench, with waters of the library, into the
// batch, on a desk and on a phone, without scripts, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, picture, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const begun = await (await set.open()).newPage();
await begun.goto("/waters");
await begun.locator('form[action="/waters/demo"] button').click();
await begun.waitForURL("**/waters");

for (const [where, viewport] of WIDTHS) {
  test(`a water is chosen and taken into the batch ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page, "lantern-pale");
    const before = await revision(page);
    await page.getByRole("link", { name: "Choose among the waters at hand" }).click();
    await page.waitForURL(/\/batch\/[^/]+\/waters$/);
    const shown = await page.locator("#waters").innerText();
    assert.match(shown, /Take /);
    assert.match(shown, /through the year/i, "the seasons of the mains are drawn");
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await picture(page, `waters-${where}`);
    await page.locator("#waters > .card").first().getByRole("button", { name: /^Take/ }).last().click();
    await page.waitForURL("**/batch/*bench=water*");
    assert.equal(await revision(page), before + 1, "one revision");
    assert.match(await page.locator(".moved").innerText(), /the waters chosen/);
  });
}

test("without scripts the address keeps the question", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/waters`);
  await page.getByLabel("distilled water", { exact: true }).check();
  await page.getByRole("button", { name: "Choose a water" }).click();
  await page.waitForURL(/have=distilled/);
  const other = await (await set.open({ javaScriptEnabled: false })).newPage();
  await other.goto(page.url());
  assert.equal(await other.getByLabel("distilled water", { exact: true }).isChecked(), true);
  assert.match(await other.locator("#waters").innerText(), /and distilled water/);
});

test("what cannot be read is told beside its field, and stays there", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  const response = await page.goto(`${batch}/waters?asked=1&water=source+1&price.source+1=much&scale=two+spoons`);
  assert.equal(response.status(), 422);
  for (const [id, value] of [["scale", "two spoons"], ["price-source-1", "much"]]) {
    const field = page.locator(`#${id}`);
    assert.equal(await field.inputValue(), value);
    assert.equal(await field.getAttribute("aria-invalid"), "true");
    assert.notEqual(await page.locator(`#${id}-fault`).innerText(), "");
  }
  const none = await page.goto(`${batch}/waters?asked=1`);
  assert.equal(none.status(), 422);
  assert.match(await page.locator("#waters").innerText(), /tick one or more/);
});
