// Why a beer is off: a finding is told, causes and tests follow, a result moves them, and
// the remedy goes into a copy; on a desk and on a phone, without scripts.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, violations } from "./lib.mjs";

const WIDTHS = [["on a desk", DESK], ["at 390 px", { width: 390, height: 844 }]];

const set = await bench({ bypassCSP: true });
const first = (page) => page.locator(".cause h3").first();

for (const [where, viewport] of WIDTHS) {
  test(`a finding leads to causes and tests ${where}, and a remedy into the next batch`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.goto(`${batch}/inquiry`);
    assert.match(await page.locator("main").innerText(), /Nothing that was found asks for a cause/);
    await page.getByLabel("Finding", { exact: true }).selectOption("cooked-corn");
    await page.getByLabel("How strong").selectOption("clear");
    await page.getByRole("button", { name: "Keep this finding" }).click();
    await page.waitForURL("**/inquiry");
    assert.match(await page.locator(".found").innerText(), /cooked sweetcorn.*clear/);
    const cause = await first(page).innerText();
    assert.match(cause, /boil|chilling/);
    assert.deepEqual(await violations(page), []);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    const before = await page.locator(".cause .chance").first().innerText();
    await page.getByRole("button", { name: /^It is so: Pour it between two glasses/ }).click();
    await page.waitForURL("**/inquiry");
    assert.notEqual(await page.locator(".cause .chance").first().innerText(), before, "a result moves the chance");
    await page.getByRole("button", { name: /^Put it into the next batch/ }).first().click();
    await page.waitForURL((url) => !url.pathname.endsWith("/inquiry"));
    assert.match(await page.locator("#title").innerText(), /, next$/);
  });
}

test("without scripts the same, and what cannot be read is told", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/inquiry`);
  await page.getByLabel("Finding", { exact: true }).selectOption("butter");
  await page.getByRole("button", { name: "Keep this finding" }).click();
  await page.getByLabel("Finding", { exact: true }).selectOption("butter");
  await page.getByRole("button", { name: "Keep this finding" }).click();
  assert.match(await page.getByRole("alert").innerText(), /butter is said twice/);
  await page.goto(`${batch}/inquiry`);
  await page.getByRole("button", { name: /^take out butter/ }).click();
  assert.match(await page.locator("main").innerText(), /Nothing yet/);
});

test("causes, findings and tests can be read, and their pages break no rule", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page, "lantern-pale");
  const origin = new URL(page.url()).origin;
  for (const path of ["", "/cause/chloramine-in-water", "/finding/medicinal", "/test/sulfite-glass"]) {
    await page.goto(`${origin}/knowledge${path}`);
    assert.deepEqual(await violations(page), [], path);
  }
  const gone = await page.goto(`${origin}/knowledge/cause/gremlins`);
  assert.equal(gone.status(), 404);
});

for (const [where, viewport] of WIDTHS) {
  test(`the story follows the remedy into the next batch ${where}, and its report loads nothing`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale-first");
    await page.goto(`${batch}/inquiry`);
    await page.getByLabel("Finding", { exact: true }).selectOption("medicinal");
    await page.getByRole("button", { name: "Keep this finding" }).click();
    await page.getByRole("button", { name: /^Put it into the next batch: Chloramine/ }).click();
    await page.waitForURL((url) => !url.pathname.endsWith("/inquiry"));
    const next = new URL(page.url()).pathname;
    await page.goto(`${next}/inquiry`);
    assert.match(await page.locator("main").innerText(), /what the other batches of this house say: \d/);
    await page.locator("summary", { hasText: "what else bears" }).click();
    await page.getByLabel("It was drunk and nothing was amiss").selectOption("yes");
    await page.getByRole("button", { name: "Keep", exact: true }).click();
    await page.waitForURL("**/inquiry");
    await page.goto(`${batch}/inquiry`);
    await page.getByRole("link", { name: "the story so far" }).click();
    const told = await page.locator("main").innerText();
    assert.match(told, /What was found[\s\S]*medicinal[\s\S]*What it could be[\s\S]*What was tested[\s\S]*What it was[\s\S]*water\.treatment[\s\S]*the fault is gone/);
    assert.deepEqual(await violations(page), []);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    const asked = [];
    page.on("request", (request) => asked.push(request.url()));
    await page.goto(`${batch}/inquiry/report`);
    assert.match(await page.locator("main").innerText(), /What came of it/);
    assert.equal(asked.filter((url) => !url.endsWith("/report") && !url.endsWith("favicon.ico")).length, 0, asked.join(" "));
    assert.deepEqual(await violations(page), []);
    assert.equal(await cutOff(page), false, "the report, too");
  });
}

test("findings are looked for by the words of tasters, with scripts and without", async () => {
  const live = await (await set.open()).newPage();
  await live.goto(`${await openDemo(live, "lantern-pale")}/inquiry`);
  await live.getByLabel("How strong").selectOption("strong");
  await live.getByLabel("Look for a finding by a word of flavour").pressSequentially("buttery");
  await live.getByText("2 findings have that word: butter, butterscotch").waitFor();
  assert.equal(await live.getByLabel("Finding", { exact: true }).inputValue(), "butter");
  assert.equal(await live.getByLabel("How strong").inputValue(), "strong", "what was chosen stays");
  assert.deepEqual(await violations(live), []);
  const plain = await (await set.open({ javaScriptEnabled: false })).newPage();
  await plain.goto(`${await openDemo(plain, "lantern-pale")}/inquiry`);
  for (const [words, said] of [["DMS", /One finding has that word: cooked/], ["phenol", /findings have that word: .*;/], ["gremlins", /No finding has that word: all are listed/]]) {
    await plain.getByLabel("Look for a finding by a word of flavour").fill(words);
    await plain.getByRole("button", { name: "Look" }).click();
    assert.match(await plain.locator("#what").innerText(), said);
  }
});
