// The log of a batch, devices and instruments: on a desk and on a phone, without
// scripts, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];
const TABLE = "time;Extrakt;Temperatur\n14.03.2026 09:00;12,0;19,5\n14.03.2026 21:00;11,2;19,9\ngestern;10,4;20,1\n15.03.2026 21:00;9,1;20,4\n16.03.2026 09:00;8,0;20,2\n";

const set = await bench({ bypassCSP: true });

async function whole(page) {
  assert.equal(await cutOff(page), false, "nothing is cut off at the side");
  assert.deepEqual(await violations(page), []);
}

for (const [where, viewport] of WIDTHS) {
  test(`a table is looked at, confirmed and kept, each row with its fate, ${where}`, async () => {
    const page = await (await set.open({ viewport, javaScriptEnabled: false })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.goto(`${batch}/log`);
    await whole(await looked(set, viewport, page.url()));
    await page.locator("#text").fill(TABLE);
    await page.getByRole("button", { name: "Look at it" }).click();
    assert.equal(await page.locator("#column-0").inputValue(), "time d.m.y");
    assert.equal(await page.locator("#column-1").inputValue(), "gravity °P");
    await page.locator("#offset").fill("Mitternacht");
    await page.getByRole("button", { name: "Keep it so" }).click();
    assert.match(await page.locator("#offset-fault").innerText(), /\+01:00/);
    assert.equal(await page.locator("#column-2").inputValue(), "temperature °C");
    await page.locator("#offset").fill("+01:00");
    await page.locator("#instrument").first().fill("cellar");
    await page.getByRole("button", { name: "Keep it so" }).click();
    await page.waitForURL("**/log#came");
    const came = page.getByRole("region", { name: "Table of what came" });
    assert.match(await came.innerText(), /pasted\s+5\s+8\s+0\s+0\s+1/);
    const look = await page.getByRole("region", { name: "Table of rows to look at" }).innerText();
    assert.match(look, /could not be read/);
    assert.match(look, /gestern/);
    await whole(await looked(set, viewport, page.url()));
  });
}

/** The same page with scripts, which the checks of the rules need. */
async function looked(of, viewport, url) {
  const page = await (await of.open({ viewport })).newPage();
  await page.goto(url);
  return page;
}

test("a reading by hand is kept; one that cannot be stays in its field", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/log`);
  await page.locator("#reading").fill("warm");
  await page.getByRole("button", { name: "Keep the reading" }).click();
  assert.equal(await page.locator("#reading").inputValue(), "warm");
  assert.equal(await page.locator("#reading").getAttribute("aria-invalid"), "true");
  await page.locator("#reading").fill("1.020");
  await page.locator("#at").fill("2026-03-16T18:30:00Z");
  await page.getByRole("button", { name: "Keep the reading" }).click();
  await page.waitForURL("**/log#came");
  assert.match(await page.getByRole("region", { name: "Table of readings" }).innerText(), /1\.020/);
});

test("a device is let in, its token shown once, sends, and is shut out", async () => {
  const context = await set.open({ javaScriptEnabled: false });
  const page = await context.newPage();
  await openDemo(page, "lantern-pale");
  await page.goto("/devices");
  await page.getByRole("button", { name: "Make its token" }).click();
  assert.match(await page.locator("#name-fault").innerText(), /name/);
  await page.locator("#name").fill("cellar-float");
  await page.getByRole("button", { name: "Make its token" }).click();
  const token = await page.locator("code.secret").innerText();
  const send = (bearer) => fetch(`${set.server.address}/api/readings`, {
    method: "POST",
    headers: { authorization: `Bearer ${bearer}`, "content-type": "application/senml+json" },
    body: JSON.stringify([{ n: "cellar-float/sg", u: "/", v: 1.031 }]),
  });
  const kept = await send(token);
  assert.equal(kept.status, 200);
  assert.equal((await kept.json()).kept.added, 1);
  assert.equal((await send(`${token}0`)).status, 401);
  await page.goto("/devices");
  assert.equal(await page.locator("code.secret").count(), 0, "the token is not shown again");
  assert.doesNotMatch(await page.locator("ul.devices").innerText(), /never/);
  await whole(await looked(set, DESK, `${set.server.address}/devices`));
  await whole(await looked(set, { width: 390, height: 844 }, `${set.server.address}/devices`));
  await page.getByRole("button", { name: "revoke cellar-float" }).click();
  assert.equal((await send(token)).status, 401);
});

test("an instrument is kept and checked, and readings that name it are set right", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  await page.goto("/brewhouses");
  await page.getByRole("button", { name: "Add the example" }).click();
  await page.goto("/instruments");
  await page.locator("#name").fill("thumb");
  await page.getByRole("button", { name: "Keep the instrument" }).click();
  await page.locator("#of").selectOption("thumb");
  await page.locator("#reference").fill("0 ± 0.05 °C");
  await page.locator("#read").fill("cold");
  await page.getByRole("button", { name: "Keep the check" }).click();
  assert.match(await page.locator("#read-fault").innerText(), /cold/);
  await page.locator("#read").fill("0.4 °C");
  await page.getByRole("button", { name: "Keep the check" }).click();
  assert.match(await page.locator("article.instrument").innerText(), /what reads 0\.4 °C is/);
  await whole(await looked(set, DESK, `${set.server.address}/instruments`));
  await whole(await looked(set, { width: 390, height: 844 }, `${set.server.address}/instruments`));
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/log`);
  await page.locator("#what").selectOption("temperature");
  await page.locator("#reading").fill("20.4 °C");
  await page.locator("#instrument").fill("thumb");
  await page.getByRole("button", { name: "Keep the reading" }).click();
  assert.match(await page.getByRole("region", { name: "Table of readings" }).innerText(), /20\.0 ± 0\.\d °C\s+set right by its checks/);
});
