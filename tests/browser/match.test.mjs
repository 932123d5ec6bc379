// Matching an aim: a wish is typed, recipes are found, another answer is shown and taken; the
// same beer elsewhere; on a desk and on a phone, without scripts; a wrong wish keeps what was
// typed.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations, worked } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);
const field = (page, name) => part(page, "wish").locator(`[name="${name}"]`);
const find = (page) => page.getByRole("button", { name: "Find recipes" }).click();

async function match(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}?bench=glass`);
  await page.getByRole("link", { name: /Find recipes for this aim/ }).click();
  await page.waitForURL("**/match");
  return { page, batch };
}

for (const [where, viewport] of WIDTHS) {
  test(`an aim is met and its recipe taken ${where}, and the page breaks no rule`, async () => {
    const { page, batch } = await match({ viewport });
    assert.match(await page.locator("main").innerText(), /Nothing is asked yet/);
    await field(page, "bitterness").fill("23 ± 2 IBU");
    await part(page, "wish").getByLabel("salts and acid").uncheck();
    await find(page);
    await page.waitForURL("**/match?**");
    await worked(page);
    assert.equal(await field(page, "bitterness").inputValue(), "23 ± 2 IBU");
    assert.equal(await part(page, "wish").getByLabel("salts and acid").isChecked(), false);
    const answer = part(page, "answer");
    assert.match(await answer.innerText(), /The recipe: the nearest to the aim/);
    assert.match(await answer.innerText(), /Perle, 60 min/);
    assert.match(await part(page, "aims").innerText(), /in 100/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);

    await part(page, "answers").getByRole("link", { name: /nearest to the recipe/ }).click();
    await page.waitForURL("**show=least-change**");
    assert.match(await answer.innerText(), /The recipe: the nearest to the recipe/);
    const saved = await page.request.get(await page.getByRole("link", { name: "save as CSV" }).first().getAttribute("href"));
    assert.match(await saved.text(), /bitterness/);

    const before = await revision(page);
    await page.getByRole("button", { name: "Take this recipe" }).click();
    await page.waitForURL(new RegExp(`${batch}$`));
    assert.equal(await revision(page), before + 1);
    await page.goto(`${batch}/history`);
    assert.match(await page.locator("main").innerText(), /matched to the aim/);
  });
}

test("what cannot be had is explained", async () => {
  const { page } = await match({});
  await field(page, "colour").fill("25 ± 2 EBC");
  await find(page);
  await page.waitForURL("**/match?**");
  await worked(page);
  const blocks = await part(page, "blocks").innerText();
  assert.match(blocks, /colour .* cannot be had/);
  assert.match(blocks, /without an aim for the colour/);
});

test("the same beer elsewhere becomes a batch of its own", async () => {
  const { page, batch } = await match({ viewport: { width: 390, height: 844 } });
  await page.getByRole("link", { name: "the same beer elsewhere" }).click();
  await page.waitForURL("**/move");
  await field(page, "volume").fill("50 L");
  await page.getByRole("button", { name: "Find it there" }).click();
  await page.waitForURL("**/move?**");
  await worked(page);
  assert.match(await page.locator("main").innerText(), /Multiplied alone/);
  assert.equal(await cutOff(page), false, "nothing is cut off at the side");
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "Keep it as a new batch" }).click();
  await page.waitForURL((url) => /^\/batch\/[0-9a-f-]+$/.test(url.pathname) && url.pathname !== batch);
  assert.match(await page.locator("body").innerText(), /moved/);
});

test("without scripts a wrong wish is told beside its field and kept there", async () => {
  const { page } = await match({ javaScriptEnabled: false });
  await field(page, "colour").fill("<b>dark");
  await field(page, "bitterness").fill("at most 30 IBU");
  await find(page);
  await worked(page);
  assert.equal(await field(page, "colour").inputValue(), "<b>dark");
  assert.equal(await field(page, "bitterness").inputValue(), "at most 30 IBU");
  assert.equal(await field(page, "colour").getAttribute("aria-invalid"), "true");
  await page.locator("#colour-fault").waitFor();
  assert.equal(await part(page, "answer").count(), 0);
});
