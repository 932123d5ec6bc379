// The brew day: a kettle short on gravity is read, a way is taken, the batch follows;
// on a desk and on a phone, without scripts; wrong input keeps what was typed.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, figure, openDemo, revision, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const part = (page, name) => page.locator(`[data-part="${name}"]`);
const field = (page, name) => page.locator(`form.read [name="${name}"]`);

async function brewDay(options) {
  const page = await (await set.open(options)).newPage();
  const batch = await openDemo(page, "lantern-pale");
  const planned = await figure(page, "boil", "original gravity").innerText();
  await page.getByRole("link", { name: "brew day", exact: true }).click();
  await page.waitForURL("**/brew-day");
  return { page, batch, planned };
}

async function read(page, values) {
  for (const [name, value] of Object.entries(values)) {
    const input = field(page, name);
    if (name === "at") await input.selectOption(value);
    else await input.fill(value);
  }
  await page.getByRole("button", { name: "Keep this reading" }).click();
}

const SHORT = { at: "kettle full", volume: "27.5 L", volume_at: "95 °C", gravity: "1.036", gravity_at: "20 °C" };

for (const [where, viewport] of WIDTHS) {
  test(`a weak kettle is read and brought back ${where}, and the page breaks no rule`, async () => {
    const { page, batch, planned } = await brewDay({ viewport });
    assert.match(await part(page, "lauter").innerText(), /stop when collected/i);
    assert.match(await part(page, "efficiency").innerText(), /brewhouse efficiency/);
    const before = await revision(page);
    await read(page, SHORT);
    await part(page, "kept").waitFor();
    assert.equal(await revision(page), before + 1);
    assert.match(await part(page, "kept").innerText(), /kettle full, 27\.5 L at 95\.0 °C/);
    assert.match(await part(page, "stands").innerText(), /as it stands/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);

    // The batch follows what was read.
    await page.goto(batch);
    const weak = await figure(page, "boil", "original gravity").innerText();
    assert.notEqual(weak, planned);

    await page.goBack();
    await page.getByRole("button", { name: /Do this at kettle full: Add .* of dried malt extract/ }).click();
    await part(page, "kept").getByText(/dried malt extract added/).waitFor();
    assert.equal(await revision(page), before + 2);
    await page.goto(batch);
    assert.equal(await figure(page, "boil", "original gravity").innerText(), planned);

    // What was taken can be taken out again.
    await page.goBack();
    await page.getByRole("button", { name: "take out done 1" }).click();
    await page.waitForLoadState();
    assert.equal(await part(page, "kept").getByText(/dried malt extract added/).count(), 0);
  });
}

test("a reading that cannot be is told beside its field and kept there", async () => {
  const { page } = await brewDay();
  const before = await revision(page);
  await read(page, { ...SHORT, gravity: "<b>heavy", volume_at: "" });
  await page.locator("#gravity-fault").waitFor();
  assert.equal(await field(page, "gravity").inputValue(), "<b>heavy");
  assert.equal(await field(page, "volume").inputValue(), "27.5 L");
  assert.equal(await field(page, "gravity").getAttribute("aria-invalid"), "true");
  assert.match(await page.locator("#volume_at-fault").innerText(), /how warm the wort is/);
  await read(page, { ...SHORT, at: "boil" });
  assert.match(await page.locator("#after-fault").innerText(), /how long after the boil began/);
  assert.equal(await field(page, "at").inputValue(), "boil");
  assert.equal(await revision(page), before);
});

test("without scripts a reading is kept, and extract from nowhere is told", async () => {
  const { page } = await brewDay({ javaScriptEnabled: false });
  await read(page, { at: "kettle full", volume: "40 L", volume_at: "20 °C", gravity: "1.070" });
  assert.match(await part(page, "stands").innerText(), /what went in holds .* at most/);
});
