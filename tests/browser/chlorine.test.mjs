// Chlorine and chloramine: from the water bench to its page and back into the batch,
// on a desk and on a phone, without scripts, by keyboard, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);

for (const [where, viewport] of WIDTHS) {
  test(`a way is put into the plan ${where}, and the page breaks no rule`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await openDemo(page);
    const before = await revision(page);
    assert.match(await part(page, "ways").innerText(), /to be got first/);
    await page.getByRole("link", { name: "Say what you have" }).click();
    await page.waitForURL("**/chlorine");
    for (const [name, words] of [["supply", /chloramine, likely/], ["checking", /below 0\.1 mg\/L/], ["carbon", /contact/]]) {
      assert.match(await part(page, name).innerText(), words);
    }
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page, { unfolded: true }), []);
    const answered = page.waitForResponse((r) => r.url().includes("have=ascorbic"));
    await page.getByLabel("ascorbic acid", { exact: true }).check();
    await answered;
    await page.locator("#chlorine strong", { hasText: "Take ascorbic acid." }).waitFor();
    await page.getByRole("button", { name: "do this: ascorbic acid" }).click();
    await page.waitForURL("**/batch/*bench=water*");
    assert.equal(await revision(page), before + 1, "one revision");
    assert.match(await page.locator(".moved").innerText(), /ascorbic acid planned against chlorine/);
    assert.equal(await page.locator('[name="water.treatment.reagent"]').inputValue(), "ascorbic acid");
  });
}

test("without scripts the address keeps the question, and a way can be planned", async () => {
  const context = await set.open({ javaScriptEnabled: false });
  const page = await context.newPage();
  const batch = await openDemo(page);
  await page.goto(`${batch}/chlorine`);
  await page.getByLabel("Tablets of").selectOption("sodium metabisulfite");
  await page.getByLabel("Active salt in a tablet").fill("0.44 g");
  await page.getByRole("button", { name: "Compare" }).click();
  await page.waitForURL(/tablet=sodium/);
  assert.match(await part(page, "doing").innerText(), /quarters/);
  await page.getByRole("button", { name: "do this: sodium metabisulfite" }).click();
  await page.waitForURL("**/batch/*bench=water*");
  assert.equal(await page.locator('[name="water.treatment.tablets"]').inputValue(), "0.25");
});

test("what cannot be read is told beside its field, and stays there", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page);
  const response = await page.goto(`${batch}/chlorine?asked=1&time=%3Cb%3Esoon&ammonia=much`);
  assert.equal(response.status(), 422);
  const time = page.getByLabel("Time until it is needed");
  assert.equal(await time.inputValue(), "<b>soon");
  assert.equal(await time.getAttribute("aria-invalid"), "true");
  assert.notEqual(await page.locator("#time-fault").innerText(), "");
  assert.notEqual(await page.locator("#ammonia-fault").innerText(), "");
  assert.equal(await page.getByRole("button", { name: /do this/ }).count(), 0);
});

test("a plan made on an older revision is not made", async () => {
  const context = await set.open();
  const page = await context.newPage();
  const batch = await openDemo(page);
  await page.goto(`${batch}/chlorine`);
  const other = await context.newPage();
  await other.goto(batch);
  await other.getByRole("button", { name: "do this: boiling" }).click();
  await other.waitForURL("**bench=water**");
  await page.getByRole("button", { name: "do this: standing" }).click();
  assert.match(await page.locator(".trouble").innerText(), /Not planned/);
});

test("by keyboard a tick changes the answer at once", async () => {
  const page = await (await set.open()).newPage();
  const batch = await openDemo(page);
  await page.goto(`${batch}/chlorine`);
  const acid = page.getByLabel("ascorbic acid", { exact: true });
  await acid.focus();
  const answered = page.waitForResponse((r) => r.url().includes("asked=1"));
  await page.keyboard.press("Space");
  assert.equal((await answered).status(), 200);
  await page.waitForURL(/asked=1/);
  assert.equal(await page.evaluate(() => document.activeElement.id), await acid.getAttribute("id"));
});

test("both charts are saved as a drawing and as figures", async () => {
  const page = await (await set.open()).newPage();
  const batch = await openDemo(page);
  for (const name of ["decay", "breakpoint"]) {
    const drawing = await page.request.get(`${batch}/chlorine/${name}.svg`);
    assert.match(await drawing.text(), /<svg/);
    const figures = await page.request.get(`${batch}/chlorine/${name}.csv`);
    assert.ok((await figures.text()).split("\r\n").length > 10, name);
  }
  assert.equal((await page.request.get(`${batch}/chlorine/none.svg`)).status(), 404);
});
