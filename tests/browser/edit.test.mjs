// An edit and its live result; a fault where it stands.
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { CHLORINE, bench, edited, field, figure, openDemo, revision, type } from "./lib.mjs";

const set = await bench();
let page;
let path;
beforeEach(async () => {
  page = await (await set.open()).newPage();
  path = await openDemo(page);
});

test("an edit changes the stream in place within a second", async () => {
  await page.evaluate(() => { window.stillHere = true; });
  assert.equal(await revision(page), 1);
  assert.match(await page.locator('.stages a[href$="bench=water"] .sign').innerText(), /^act/);

  await type(page, CHLORINE, "0.4 mg/L", false);
  const began = performance.now();
  await page.keyboard.press("Enter");
  await page.locator(".moved").waitFor({ timeout: 1000 });
  assert.ok(performance.now() - began < 1000);

  assert.match(await figure(page, "water", "chlorine left").innerText(), /^1\.\d+ mg\/L.* → 0\.\d+ mg\/L/);
  const told = await page.locator(".moved").innerText();
  assert.match(told, /^Your last change \(water\.source\[1\]\.total_chlorine = 0\.4 mg\/L\)/);
  assert.match(told, /water, chlorine left 1\.\d+ mg\/L.* → 0\.\d+ mg\/L/);
  assert.match(told, /glass, medicinal high → /);
  assert.equal(await revision(page), 2);
  assert.equal(await page.evaluate(() => document.activeElement.name), CHLORINE);
  assert.equal(await field(page, CHLORINE).inputValue(), "0.4 mg/L");
  assert.ok(await page.evaluate(() => window.stillHere), "the page was not loaded again");
  assert.match(await page.locator("#say").textContent(), /^saved; /);
});

test("Tab saves as well, and the focus is in the next field", async () => {
  await edited(page, () => type(page, CHLORINE, "0.4 mg/L"));
  await page.locator(".moved").waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.name), "water.source[1].free_chlorine");
});

test("what is typed while an answer is on its way is kept and saved", async () => {
  await page.route("**/edit?*", async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 300));
    await route.continue();
  });
  await type(page, "water.source[1].calcium", "90 mg/L");
  await type(page, "water.source[1].magnesium", "12 mg/L");
  await type(page, "water.source[1].sodium", "25 mg/L");
  await field(page, "water.salt[1].into").selectOption("sparge");
  await type(page, "water.source[1].potassium", "4 mg/L", false);
  await keeps(/sodium = "25 mg\/L"/);
  await keeps(/into = "sparge"/);
  await page.waitForFunction(() => /revision [3-9]/.test(document.querySelector("#beside").textContent));
  assert.equal(await field(page, "water.source[1].potassium").inputValue(), "4 mg/L", "typed and not left yet");
  await page.keyboard.press("Tab");
  await keeps(/potassium = "4 mg\/L"/);
  await page.goto(path);
  assert.equal(await field(page, "water.salt[1].into").inputValue(), "sparge");
  for (const [key, value] of [["calcium", "90"], ["magnesium", "12"], ["sodium", "25"], ["potassium", "4"]]) {
    assert.equal(await field(page, `water.source[1].${key}`).inputValue(), `${value} mg/L`);
  }
});

test("half a value is not sent, and what was typed after a request outlives its answer", async () => {
  let answers = 0;
  await page.route("**/edit?*", async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    await route.continue();
  });
  page.on("response", (r) => { if (r.request().method() === "POST") answers += 1; });
  const moved = (words) => page.waitForFunction((w) => document.querySelector("#beside").textContent.includes(w), words);
  await type(page, "water.source[1].calcium", "90 mg/L");
  await type(page, "water.source[1].calcium", "91 mg/L");
  await type(page, "water.source[1].sodium", "2", false);
  assert.equal(answers, 0, "all of it was typed before the first answer");
  await moved("revision 3");
  const text = await (await page.request.get(`${path}/document.toml`)).text();
  assert.match(text, /calcium = "91 mg\/L"/);
  assert.match(text, /sodium = "24 mg\/L"/);
  assert.equal(await page.locator(".trouble").count(), 0);
  assert.equal(await field(page, "water.source[1].calcium").inputValue(), "91 mg/L");
  assert.equal(await field(page, "water.source[1].sodium").inputValue(), "2");
  await page.keyboard.type("5 mg/L");
  await page.keyboard.press("Tab");
  await keeps(/sodium = "25 mg\/L"/);
});

for (const [typed, near] of [["1.8 mg/Ll", "mg/L"], ["1.8 galz", "mg/L"]]) {
  test(`a unit that is none ("${typed}") is told at the field, and nothing is saved`, async () => {
    const calm = page.locator(".trouble");
    await edited(page, () => type(page, CHLORINE, typed));
    await calm.waitFor();
    const input = field(page, CHLORINE);
    assert.equal(await input.getAttribute("aria-invalid"), "true");
    const told = page.locator(`[id="${await input.getAttribute("aria-describedby")}"]`);
    const words = await told.innerText();
    assert.ok(words.includes(typed.split(" ")[1]) && words.includes(near), words);
    assert.equal(await input.inputValue(), typed);
    assert.match(await calm.innerText(), /^Not saved yet/);
    assert.equal(await revision(page), 1);
    const elsewhere = await (await set.open()).newPage();
    await elsewhere.goto(path);
    assert.equal(await field(elsewhere, CHLORINE).inputValue(), "1.8 ± 0.3 mg/L");

    await page.reload();
    await page.locator(".trouble").waitFor();
    assert.equal(await input.inputValue(), typed, "a reload keeps what was typed");

    await edited(page, () => type(page, CHLORINE, "0.4 mg/L"));
    await page.locator(".moved").waitFor();
    assert.equal(await page.locator(".trouble").count(), 0);
    assert.equal(await input.getAttribute("aria-invalid"), null);
    assert.equal(await revision(page), 2);
    await elsewhere.reload();
    assert.equal(await field(elsewhere, CHLORINE).inputValue(), "0.4 mg/L");
  });
}

/** Waits until the document that the server keeps says something. */
async function keeps(words) {
  const until = Date.now() + 5000;
  let text;
  do {
    text = await (await page.request.get(`${path}/document.toml`)).text();
    if (words.test(text)) return;
    await new Promise((resolve) => setTimeout(resolve, 50));
  } while (Date.now() < until);
  assert.match(text, words);
}
