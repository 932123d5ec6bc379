// The boil: a hop's form, its age by index, what dry hops do, colour and other formulas.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, edited, field, openDemo, type, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const hops = (page) => page.getByRole("region", { name: "hop by hop" });
const alpha = async (page) => Number(/([\d.]+)/.exec(await hops(page).locator("tbody tr").first().locator("td").first().innerText())[1]);

async function boiled(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}?bench=boil`);
  return page;
}

/** Opens what is folded around a field, as a person would. */
async function unfold(page, name) {
  const folded = page.locator("details:not([open])", { has: field(page, name) });
  if (await folded.count()) await folded.locator("summary").click();
}

for (const [where, viewport] of WIDTHS) {
  test(`an index takes from alpha, dry hops have their say, and the page breaks no rule ${where}`, async () => {
    const page = await boiled({ viewport });
    const fresh = await alpha(page);
    await unfold(page, "hop[1].storage_index");
    await edited(page, () => type(page, "hop[1].storage_index", "0.40"));
    await page.waitForFunction((was) => {
      const cell = document.querySelector('[aria-label="hop by hop"] tbody td');
      return cell && Number(/([\d.]+)/.exec(cell.textContent)[1]) < was;
    }, fresh);
    // 110·lg(0.40/0.25) = 22.5 % lost.
    assert.ok(Math.abs(await alpha(page) / fresh - 0.775) < 0.01);
    await edited(page, () => field(page, "hop[1].form").selectOption("pellets"));
    await hops(page).getByText("pellets").waitFor();
    const said = await page.locator("section.card", { has: page.getByRole("heading", { name: "Colour", exact: true }) }).innerText();
    assert.match(said, /formed by this boil\s+\d\.\d–\d\.\d EBC/);
    assert.equal(await page.locator("svg.swatch[role=img]").count() % 3, 0);
    assert.ok(await page.locator("svg.swatch[role=img]").count() >= 3);
    await edited(page, () => field(page, "hop[1].used").selectOption("dry"));
    const dry = page.locator("section.card", { has: page.getByRole("heading", { name: "Dry hops and bitterness" }) });
    await dry.waitFor();
    assert.match(await dry.innerText(), /a laboratory would read\s+\d+–\d+ IBU/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
  });
}

test("an index that cannot be stays in its field", async () => {
  const page = await boiled();
  await unfold(page, "hop[1].storage_index");
  await edited(page, () => type(page, "hop[1].storage_index", "stale"));
  assert.equal(await field(page, "hop[1].storage_index").inputValue(), "stale");
  assert.equal(await field(page, "hop[1].storage_index").getAttribute("aria-invalid"), "true");
});
