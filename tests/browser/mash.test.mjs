// The mash: a step mash whose first rest is missed, read, mended on brew day; by page
// and as a file.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, edited, field, openDemo, revision, type, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const card = (page) => page.locator('[data-part="starch"]');
const limit = async (page) => {
  const row = card(page).getByRole("row", { name: /^limit of attenuation, apparent/ });
  return Number(/(\d+) ±/.exec(await row.innerText())[1]);
};

async function stepMash(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "towpath-amber");
  await page.goto(`${batch}?bench=mash`);
  return page;
}

async function read(page, n, after, temperature) {
  await edited(page, () => page.getByRole("button", { name: "Add a temperature" }).click());
  await field(page, `mash.measured[${n}].after`).waitFor();
  await edited(page, () => type(page, `mash.measured[${n}].after`, after));
  await edited(page, () => type(page, `mash.measured[${n}].temperature`, temperature));
}

for (const [where, viewport] of WIDTHS) {
  test(`a missed rest is read, told and mended ${where}, and the page breaks no rule`, async () => {
    const page = await stepMash({ viewport });
    const before = await revision(page);
    const planned = await limit(page);
    assert.equal(await card(page).locator(".trouble").count(), 0);
    await read(page, 1, "12 min", "70 °C");
    const told = card(page).locator(".trouble");
    await told.waitFor();
    assert.match(await told.innerText(), /70\.0 °C after 12(\.0)? min where 62\.6 °C was planned/);
    assert.match(await told.innerText(), /stir in [\d.]+ L of cold water; it thins the mash: the limit comes to \d/);
    assert.ok(await limit(page) < planned - 2, "a hot rest ferments less far");
    // The cold water went in, and the rest is where it should be again.
    await read(page, 2, "16 min", "62.8 °C");
    await told.waitFor({ state: "detached" });
    assert.equal(await revision(page), before + 6);
    const mended = await limit(page);
    assert.ok(mended < planned, "what was lost does not come back");
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
  });
}

test("too cool a rest can be warmed, and what cannot be read stays in its field", async () => {
  const page = await stepMash();
  await read(page, 1, "12 min", "59 °C");
  const told = card(page).locator(".trouble");
  await told.waitFor();
  assert.match(await told.innerText(), /stir in [\d.]+ L of boiling water/);
  assert.match(await told.innerText(), /heat it, [\d.]+ kWh in \d/);
  await edited(page, () => type(page, "mash.measured[1].temperature", "luke warm"));
  assert.equal(await field(page, "mash.measured[1].temperature").inputValue(), "luke warm");
  assert.equal(await field(page, "mash.measured[1].temperature").getAttribute("aria-invalid"), "true");
});

test("a rest is reached by a thick decoction, and two readings tell what the tun loses", async () => {
  const page = await stepMash();
  await edited(page, () => field(page, "mash.rest[2].by").selectOption("thick decoction"));
  await card(page).getByText(/of the grain and [\d.]+ % of the liquor with its enzymes boil/).waitFor();
  assert.match(await page.locator(".results").innerText(), /of the thick mash from below \([\d.]+ kg\): take it at once/);
  await edited(page, () => field(page, "mash.rest[2].by").selectOption(""));
  await read(page, 1, "5 min", "63 °C");
  await read(page, 2, "28 min", "61.6 °C");
  const loss = card(page).getByRole("row", { name: /^time constant of the tun, by them/ });
  assert.match(await loss.innerText(), /11\.[56] ± [\d.]+ h; 30\.0 h is planned/);
});

test("its charts are saved as files", async () => {
  const page = await stepMash();
  const base = new URL(page.url()).pathname;
  for (const [name, words] of [["temperatures", /time \(min\)/], ["sugars", /limit of attenuation/]]) {
    const csv = await page.request.get(`${base}/chart/${name}.csv`);
    assert.equal(csv.status(), 200);
    assert.match(await csv.text(), words);
    const svg = await page.request.get(`${base}/chart/${name}.svg`);
    assert.match(await svg.text(), /^<svg|^<\?xml/);
  }
});
