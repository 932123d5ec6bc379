// Recipes from and to other programs: a file with its report, kept; a batch as a file;
// everything as one archive. On a desk and on a phone, and with what cannot be read.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { DESK, PHONE, bench, cutOff, openDemo, picture, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];
const EXAMPLE = fileURLToPath(new URL("../../crates/interchange/tests/examples/MedievalAle.json", import.meta.url));

const set = await bench({ bypassCSP: true });


for (const [where, viewport] of WIDTHS) {
  test(`a file is shown with its report before it is kept ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    await page.goto("/");
    await page.getByRole("link", { name: "Take in recipes from a file" }).click();
    await page.waitForURL("**/recipes");
    await page.getByLabel("Choose a file, up to 1 MB").setInputFiles(EXAMPLE);
    await page.getByRole("button", { name: "See what it comes to" }).click();
    const report = page.locator(".mapped");
    await report.waitFor();
    const told = await report.innerText();
    assert.match(told, /Not said/);
    assert.match(told, /fermentable_additions\/0\/yield\/potential/);
    assert.match(told, /a water without minerals/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await picture(page, `recipes-${where}`);
    await page.goto("/");
    assert.doesNotMatch(await page.locator("main").innerText(), /Medieval Ale/, "looking keeps nothing");
    await page.goto("/recipes");
    await page.getByLabel("or paste what is in it").fill(readFileSync(EXAMPLE, "utf8").replace("#20 1058 Medieval Ale", `Ale taken in ${where}`));
    await page.getByRole("button", { name: "See what it comes to" }).click();
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.waitForURL(/\/batch\/[^/]+$/);
    assert.equal(await page.locator("h1").innerText(), `Ale taken in ${where}`);
  });

  test(`a batch goes out as a file and says what does not map ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.getByRole("link", { name: "for other programs" }).click();
    await page.waitForURL("**/recipe");
    assert.match(await page.locator(".mapped").innerText(), /water\.treatment\.way[\s\S]*not told to take it out/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await picture(page, `recipe-${where}`);
    const file = page.waitForEvent("download");
    await page.getByRole("link", { name: "Save as a file" }).click();
    const saved = JSON.parse(readFileSync(await (await file).path(), "utf8"));
    assert.equal(saved.beerjson.version, 2.06);
    assert.equal(saved.beerjson.recipes[0].batch_size.value, 20);
    const api = await (await page.request.get(`/api${batch.replace("/batch/", "/batches/")}/recipe`)).json();
    assert.deepEqual(api.file, saved);
  });
}

test("what cannot be read is told where it stands, and stays typed", async () => {
  const page = await (await set.open()).newPage();
  const wrong = readFileSync(EXAMPLE, "utf8").replace('"unit": "gal"', '"unit": "barrels"');
  await page.goto("/recipes");
  await page.getByLabel("or paste what is in it").fill(wrong);
  await page.getByRole("button", { name: "See what it comes to" }).click();
  const trouble = page.locator(".trouble");
  await trouble.waitFor();
  assert.match(await trouble.innerText(), /\/beerjson\/recipes\/0\/batch_size\/unit[\s\S]*"gal"/);
  assert.match(await page.locator("#text").inputValue(), /barrels/);
  assert.deepEqual(await violations(page), []);
  await page.locator("#text").fill("");
  await page.getByRole("button", { name: "See what it comes to" }).click();
  assert.match(await trouble.innerText(), /choose a file, or paste/);
  await page.getByLabel("Choose a file, up to 1 MB").setInputFiles({ name: "x.json", mimeType: "application/json", buffer: Buffer.from([0xff, 0xfe, 0x00]) });
  await page.getByRole("button", { name: "See what it comes to" }).click();
  assert.match(await trouble.innerText(), /no text in UTF-8/);
});

test("the API reads, keeps and refuses as the page does", async () => {
  const page = await (await set.open()).newPage();
  const send = (to, data) => page.request.post(to, { data, headers: { "content-type": "application/json" } });
  const text = readFileSync(EXAMPLE, "utf8");
  const read = await send("/api/recipes/read", text);
  assert.equal(read.status(), 200);
  const told = await read.json();
  assert.equal(told.schema, "gylewright/recipes-read/1");
  assert.equal(told.documents[0].kind, "batch");
  assert.ok(told.remarks.some((r) => r.fate === "missing"));
  const kept = await send("/api/recipes", text);
  assert.equal(kept.status(), 201);
  const { documents: [{ id }] } = await kept.json();
  assert.equal((await page.request.get(`/api/batches/${id}`)).status(), 200);
  const refused = await send("/api/recipes", '{"beerjson": {}}');
  assert.equal(refused.status(), 422);
  assert.match((await refused.json()).detail, /\/beerjson: .*add version/);
});

test("everything is saved as one archive", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page, "lantern-pale");
  const answer = await page.request.get("/everything.tar");
  assert.equal(answer.headers()["content-type"], "application/x-tar");
  const names = [];
  const bytes = await answer.body();
  for (let at = 0; at + 512 <= bytes.length && bytes[at] !== 0;) {
    names.push(bytes.toString("utf8", at, at + 100).replace(/\0.*$/s, ""));
    at += 512 + Math.ceil(parseInt(bytes.toString("utf8", at + 124, at + 135), 8) / 512) * 512;
  }
  assert.ok(names.includes("gylewright/manifest.toml"), names.join("\n"));
  assert.ok(names.some((name) => /^gylewright\/batch\/lantern-pale.*\.toml$/.test(name)), names.join("\n"));
});

test("without accounts the words on the study stand on a page of their own", async () => {
  const page = await (await set.open({ viewport: PHONE, hasTouch: true, isMobile: true })).newPage();
  await page.goto("/");
  await page.getByRole("link", { name: "study over the batches of many" }).click();
  await page.waitForURL("**/study");
  const card = page.getByRole("region", { name: "The study over the batches of many" });
  assert.match(await card.innerText(), /0 of \d+ batches kept here go in/);
  await card.getByRole("button", { name: "Agree for every batch" }).click();
  await card.getByText("Those to come go in too").waitFor();
  assert.deepEqual(await violations(page), []);
  assert.equal(await cutOff(page), false);
  await card.getByRole("button", { name: "Withdraw every batch" }).click();
  await card.getByText(/0 of \d+ batches kept here go in/).waitFor();
});
