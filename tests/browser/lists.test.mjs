// Entries of a list are added and taken out.
import assert from "node:assert/strict";
import { test } from "node:test";
import { bench, edited, field, figure, openDemo, revision, type } from "./lib.mjs";

const set = await bench();

test("a hop is added, given an amount, and taken out", async () => {
  const page = await (await set.open()).newPage();
  const path = await openDemo(page);
  await page.goto(`${path}?bench=boil`);
  const takeOut = page.getByRole("button", { name: /^take out hop/ });
  const hops = await takeOut.count();
  assert.ok(hops > 0);
  const before = await figure(page, "boil", "bitterness").innerText();

  await edited(page, () => page.getByRole("button", { name: "Add a hop" }).click());
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 2");
  assert.equal(await takeOut.count(), hops + 1);
  const added = `hop[${hops + 1}]`;
  await edited(page, () => type(page, `${added}.amount`, "40 g"));
  await edited(page, () => type(page, `${added}.time`, "60 min"));
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 4");
  const bitter = (text) => Number(/(\d+)(?= IBU$)/.exec(text)[1]);
  assert.ok(bitter(await figure(page, "boil", "bitterness").innerText()) > bitter(before));

  await edited(page, () => page.getByRole("button", { name: `take out hop ${hops + 1}` }).click());
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 5");
  assert.equal(await takeOut.count(), hops);
  await page.reload();
  assert.equal(await takeOut.count(), hops);
  assert.equal(await figure(page, "boil", "bitterness").innerText(), before);
});

test("a salt is added, weighed out, and taken out while another field is being left", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page);
  const takeOut = page.getByRole("button", { name: /^take out salt/ });
  const salts = await takeOut.count();
  await edited(page, () => page.getByRole("button", { name: "Add a salt" }).click());
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 2");
  assert.equal(await takeOut.count(), salts + 1);
  const added = `water.salt[${salts + 1}]`;
  assert.equal(await field(page, `${added}.salt`).inputValue(), "gypsum");
  await edited(page, () => type(page, `${added}.amount`, "2.5 g"));
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 3");
  assert.match(await page.locator(".results").innerText(), /gypsum[^\n]*\s+2\.50? g/i);

  // The click leaves the field, so the change of the field goes first.
  await type(page, "water.source[1].calcium", "95 mg/L", false);
  await page.getByRole("button", { name: `take out salt ${salts + 1}` }).click();
  await page.waitForFunction(() => document.querySelector("#beside").textContent === "revision 5");
  assert.equal(await page.locator(".trouble").count(), 0);
  assert.equal(await takeOut.count(), salts);
  await page.reload();
  assert.equal(await takeOut.count(), salts);
  assert.equal(await field(page, "water.source[1].calcium").inputValue(), "95 mg/L");
  assert.equal(await revision(page), 5);
});
