// The pH of the mash: a reading is added, filled in and answered, on a desk and on a
// phone, without scripts, by keyboard; what cannot be is told beside its field.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, edited, field, figure, openDemo, revision, type, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];
const PH = "mash.reading[1].ph";

const set = await bench({ bypassCSP: true });
const card = (page) => page.locator('[data-part="reading"]');
const adds = (page) => page.getByRole("button", { name: "Add a reading" });

async function mashBench(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}?bench=mash`);
  return page;
}

for (const [where, viewport] of WIDTHS) {
  test(`a reading moves the mash and says what to add ${where}, and the page breaks no rule`, async () => {
    const page = await mashBench({ viewport });
    assert.match(await card(page).innerText(), /predicted/);
    const sign = page.locator('.stages a[href$="bench=mash"]');
    assert.match(await sign.innerText(), /fine/i);
    await edited(page, () => adds(page).click());
    await field(page, PH).waitFor();
    // Not read yet: nothing has moved.
    assert.match(await figure(page, "mash", "pH").innerText(), /5\.49/);
    await edited(page, () => type(page, PH, "5.80 ± 0.03"));
    await page.locator('[data-part="reading"] strong', { hasText: /^Start with .* of lactic acid 80 %/ }).waitFor();
    assert.match(await figure(page, "mash", "pH, read").innerText(), /5\.7/);
    assert.match(await sign.innerText(), /look: The mash stands at 5\.7/i);
    assert.match(await card(page).innerText(), /never water to acid/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
  });
}

test("what was given between two readings counts, each change a revision", async () => {
  const page = await mashBench();
  const before = await revision(page);
  await edited(page, () => adds(page).click());
  await edited(page, () => type(page, PH, "5.80 ± 0.03"));
  await edited(page, () => adds(page).click());
  const second = "mash.reading[2]";
  await field(page, `${second}.ph`).waitFor();
  await edited(page, () => type(page, `${second}.after`, "25 min"));
  await edited(page, () => page.getByRole("button", { name: "Add what was given before it" }).nth(1).click());
  await field(page, `${second}.added[1].volume`).waitFor();
  await edited(page, () => type(page, `${second}.added[1].volume`, "4.6 mL"));
  await edited(page, () => type(page, `${second}.ph`, "5.55 ± 0.03"));
  await page.locator('[data-part="reading"] td', { hasText: "5.55" }).first().waitFor({ state: "attached" });
  assert.equal(await revision(page), before + 7);
  await page.getByText("What the next batch can take over").click();
  assert.match(await card(page).innerText(), /pilsner malt/);
});

test("a reading that cannot be is told beside its field and kept there", async () => {
  const page = await mashBench();
  await edited(page, () => adds(page).click());
  await field(page, PH).waitFor();
  await edited(page, () => type(page, PH, "<b>sour"));
  await page.locator(".trouble").waitFor();
  assert.equal(await field(page, PH).inputValue(), "<b>sour");
  assert.equal(await field(page, PH).getAttribute("aria-invalid"), "true");
  await edited(page, () => type(page, PH, "12"));
  await page.getByText("no mash reads pH 12").first().waitFor();
});

test("without scripts a reading is added and answered, and the sheet has the table", async () => {
  const page = await mashBench({ javaScriptEnabled: false });
  await page.goto(page.url().replace("?bench=mash", "/sheet"));
  assert.match(await page.locator("main").innerText(), /if a cooled sample reads[\s\S]*lactic acid 80 %/);
  await page.goBack();
  await adds(page).click();
  await field(page, PH).fill("5.80 ± 0.03");
  await page.getByRole("button", { name: "Reckon" }).click();
  assert.match(await card(page).innerText(), /Start with/);
});
