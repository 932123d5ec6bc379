// Steering a batch: a wish is typed, the course that serves it is shown beside the planned
// one, another is chosen and taken; on a desk and on a phone, without scripts; a wrong wish
// keeps what was typed.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);
const field = (page, name) => part(page, "wish").locator(`[name="${name}"]`);
const find = (page) => page.getByRole("button", { name: "Find the course" }).click();

async function steer(options, demo = "lantern-pale") {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, demo);
  await page.goto(`${batch}?bench=ferment`);
  await page.getByRole("link", { name: /Steer the course/ }).click();
  await page.waitForURL("**/steer");
  return { page, batch };
}

for (const [where, viewport] of WIDTHS) {
  test(`a wish is answered and its course taken ${where}, and the page breaks no rule`, async () => {
    const { page, batch } = await steer({ viewport });
    assert.match(await part(page, "grounds").innerText(), /Taken, since nothing was said/);
    await field(page, "by").fill("9 d");
    await field(page, "butter").selectOption("at most");
    await field(page, "butter_amount").fill("0.08 mg/L");
    await field(page, "banana").selectOption("most");
    await find(page);
    await page.waitForURL("**/steer?**");
    assert.equal(await field(page, "butter_amount").inputValue(), "0.08 mg/L");
    const answer = part(page, "answer");
    assert.match(await answer.innerText(), /The course: the best/);
    assert.match(await answer.innerText(), /as planned/);
    assert.match(await part(page, "changes").innerText(), /1 K cooler/);
    assert.match(await part(page, "choices").innerText(), /safest/);

    await part(page, "choices").getByRole("link").last().click();
    await page.waitForURL("**show=**");
    assert.match(await answer.innerText(), /most banana at/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);

    const saved = await page.request.get(await page.getByRole("link", { name: "save as CSV" }).first().getAttribute("href"));
    assert.match(await saved.text(), /found/);
    const before = await revision(page);
    await page.getByRole("button", { name: "Take this course" }).click();
    await page.waitForURL("**bench=ferment");
    assert.equal(await revision(page), before + 1);
    await page.goto(`${batch}/history`);
    assert.match(await page.locator("main").innerText(), /temperatures steered/);
  });
}

test("without scripts a wrong wish is told beside its field and kept there", async () => {
  const { page } = await steer({ javaScriptEnabled: false });
  await field(page, "by").fill("soon");
  await field(page, "clove").selectOption("at least");
  await field(page, "clove_amount").fill("<b>lots");
  await find(page);
  assert.equal(await field(page, "by").inputValue(), "soon");
  assert.equal(await field(page, "clove_amount").inputValue(), "<b>lots");
  assert.equal(await field(page, "clove_amount").getAttribute("aria-invalid"), "true");
  await page.locator("#by-fault").waitFor();
  await page.locator("#clove-fault").waitFor();
  assert.equal(await part(page, "answer").count(), 0);
});

test("a wish that cannot be kept comes nearest, and a running batch is planned from now", async () => {
  const { page } = await steer({}, "towpath-amber");
  await field(page, "clove").selectOption("at least");
  await field(page, "clove_amount").fill("3 mg/L");
  await find(page);
  await page.waitForURL("**/steer?**");
  const answer = part(page, "answer");
  assert.match(await answer.innerText(), /cannot be kept whole/);
  assert.match(await answer.innerText(), /without "clove/);
  await field(page, "clove").selectOption("");
  await page.getByText("The batch runs already").click();
  await field(page, "read").fill("1 d, 1.050\n2 d, 1.048\n3 d, 1.042, 11 °C\n4 d, 1.036\n5 d, 1.030");
  await find(page);
  await page.getByText(/times the speed of its class/).waitFor();
  assert.match(await answer.innerText(), /day 5\.0/);
});
