// A blind panel from the plan to the result: the power is said before pouring, five
// phones come in by codes that work once and answer, the result says what it can and
// cannot say. On a desk, on a phone, without scripts, and with what cannot be read.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DESK, bench, cutOff, openDemo, picture, violations } from "./lib.mjs";

const HAND = { width: 390, height: 844 };

const set = await bench({ bypassCSP: true }, ["--phones", "127.0.0.1:0"]);

async function draw(page, { tastings = "10", tasters = "Ann\nBen\nCid\nDee\nEve", ...more } = {}) {
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(batch);
  await page.getByRole("link", { name: "blind tasting" }).click();
  await page.waitForURL("**/tasting");
  await page.getByLabel("Tastings in all").fill(tastings);
  await page.getByLabel("Who tastes").fill(tasters);
  for (const [label, value] of Object.entries(more)) await page.getByLabel(label, { exact: true }).selectOption(value);
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
}

test("five phones taste blind, and the result says no more than was shown", async () => {
  const page = await (await set.open()).newPage();
  await draw(page);
  await page.waitForURL("**/tasting/*");
  const home = page.url();
  await page.goto(`${home}/serving`);
  const key = new Map();
  for (const row of await page.locator(".pour tbody tr").all()) {
    const glasses = await row.locator(".glasses li").allInnerTexts();
    const beers = glasses.map((g) => /^(\d{3})\s+(.*)$/.exec(g).slice(1));
    const odd = beers.find(([, beer]) => beers.filter(([, other]) => other === beer).length === 1);
    key.set(Number(await row.locator("th").innerText()), odd[0]);
  }
  assert.equal(key.size, 10);
  await page.goto(home);
  await page.getByRole("button", { name: "Let phones in" }).click();
  const doors = await page.locator("li code").allInnerTexts();
  assert.equal(doors.length, 5);
  const phones = await Promise.all(doors.map(async (door) => {
    const phone = await (await set.open({ viewport: HAND, javaScriptEnabled: false })).newPage();
    await phone.goto(door);
    await phone.getByRole("button", { name: "This is my phone" }).click();
    await phone.waitForURL("**/glass");
    return phone;
  }));
  const again = await (await set.open()).newPage();
  await again.goto(doors[0]);
  await again.getByRole("button", { name: "This is my phone" }).click();
  await again.getByText("was used already").waitFor();
  for (let round = 0; round < 2; round += 1) {
    await Promise.all(phones.map(async (phone, seat) => {
      const text = await phone.locator("body").innerText();
      assert.ok(!/lantern|aim/i.test(text), `nothing of the beers: ${text}`);
      const number = Number(await phone.locator('[name="tasting"]').inputValue());
      assert.equal(number, round * 5 + seat + 1);
      await phone.getByRole("radio", { name: key.get(number) }).check();
      await phone.getByRole("button", { name: "Keep this answer" }).click();
      await phone.getByText(`${round + 1} of 2 answered`).waitFor();
    }));
  }
  await phones[3].getByText("That was all").waitFor();
  await page.goto(home);
  assert.match(await page.locator("h2").first().innerText(), /A difference is shown: 10 right of 10/);
  const all = await page.locator("section.tasting").innerText();
  assert.match(all, /by guessing alone that happens in/);
  assert.match(all, /How people at large would do/);
  assert.doesNotMatch(all, /the same beer|identical/);
  assert.equal(await page.locator("tbody tr").count() >= 5, true);
  await picture(page, "result");
  await picture(phones[0], "phone-done");
});

test("a phone has no way past its own page", async () => {
  const page = await (await set.open()).newPage();
  await draw(page);
  await page.waitForURL("**/tasting/*");
  const home = new URL(page.url()).pathname;
  await page.getByRole("button", { name: "Let phones in" }).click();
  const door = new URL((await page.locator("li code").first().innerText()));
  const phone = await (await set.open({ viewport: HAND })).newPage();
  for (const path of ["/", home, `${home}/serving`, "/glass", "/api/batches"]) {
    const answer = await phone.request.get(new URL(path, door).href);
    assert.equal(answer.status(), 404, path);
    assert.ok(!/Lantern/.test(await answer.text()));
  }
  await phone.goto(door.href);
  await phone.getByRole("button", { name: "This is my phone" }).click();
  await phone.waitForURL("**/glass");
  assert.deepEqual(await violations(phone), []);
  await picture(phone, "phone");
  const other = await phone.request.post(new URL("/glass", door).href, {
    form: { tasting: "2", glass: "100" }, headers: { origin: door.origin },
  });
  assert.equal(other.status(), 422, "not the tasting of another");
  await page.getByRole("button", { name: "Shut phones out" }).click();
  await page.waitForURL(`**${home}`);
  await phone.reload();
  await phone.getByText("This phone has no seat").waitFor();
});

test("points are given blind on the taster's own page, after the last answer", async () => {
  const page = await (await set.open()).newPage();
  await openDemo(page, "lantern-pale").then((batch) => page.goto(`${batch}/tasting`));
  await page.getByLabel("Tastings in all").fill("1");
  await page.getByLabel("Who tastes").fill("Ann");
  await page.getByLabel("Scored in both beers").fill("bitterness, clove");
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
  await page.waitForURL("**/tasting/*");
  const home = page.url();
  await page.goto(`${home}/serving`);
  const glasses = await page.locator(".pour").last().locator("tbody li").allInnerTexts();
  const held = new Map(glasses.map((g) => /^(\d{3})\s+(.*)$/.exec(g).slice(1)));
  assert.equal(held.size, 2);
  const taster = await (await set.open({ viewport: HAND })).newPage();
  await taster.goto(`${home}/taster/1`);
  assert.equal(await taster.getByText("How strong").count(), 0, "not before the last answer");
  await taster.getByRole("radio").first().check();
  await taster.getByRole("button", { name: "Keep this answer" }).click();
  await taster.getByText("How strong is it").waitFor();
  const text = await taster.locator("body").innerText();
  assert.ok(!/lantern|aim/i.test(text), `nothing of the beers: ${text}`);
  assert.deepEqual(await violations(taster), []);
  await picture(taster, "points");
  for (const [code, beer] of held) {
    const fields = await taster.getByLabel(code, { exact: true }).all();
    assert.equal(fields.length, 2, "one for each attribute");
    await fields[0].fill(beer.includes("aim") ? "2" : "6.5");
    await fields[1].fill("1");
  }
  await taster.getByRole("button", { name: "Keep these points" }).click();
  await taster.getByText("That was all").waitFor();
  await page.goto(home);
  const row = page.locator(".scores tbody tr", { hasText: "bitterness" });
  assert.match(await row.innerText(), /4\.5/);
  await page.getByLabel("What was scored", { exact: true }).fill("clove");
  await page.getByLabel("Who scored it").fill("Ann");
  await page.getByLabel("Points by code").fill("much");
  await page.getByRole("button", { name: "Keep the points" }).click();
  await page.getByText("no code with its points").waitFor();
  assert.equal(await page.getByLabel("Points by code").inputValue(), "much");
});

for (const [where, viewport] of [["on a desk", DESK], ["at 390 px", HAND]]) {
  test(`the plan says what it can show before anything is poured ${where}`, async () => {
    const page = await (await set.open({ viewport })).newPage();
    const batch = await openDemo(page, "lantern-pale");
    await page.goto(`${batch}/tasting`);
    await page.getByLabel("Difference that matters, d'").fill("1");
    await page.getByRole("button", { name: "See what it can show" }).click();
    await page.waitForURL(/difference=1/);
    const shows = await page.locator("#shows").innerText();
    assert.match(shows, /6 triangles see a difference of d' = 1 in 5.0 % of cases/);
    assert.match(shows, /As many tetrads see it in 10 %/);
    assert.match(shows, /no proof that the beers are alike/);
    assert.equal(await cutOff(page), false, "nothing is cut off at the side");
    assert.deepEqual(await violations(page), []);
    await picture(page, `plan-${viewport.width}`);
    await page.getByLabel("Who tastes").fill("Ann");
    await page.getByRole("button", { name: "Draw orders and codes" }).click();
    await page.waitForURL("**/tasting/*");
    assert.deepEqual(await violations(page), []);
    await picture(page, `tasting-${viewport.width}`);
    await page.getByRole("link", { name: "serving sheet" }).click();
    await page.waitForURL("**/serving");
    assert.deepEqual(await violations(page), []);
    await picture(page, `serving-${viewport.width}`);
  });
}

test("what cannot be read is told where it stands and stays there", async () => {
  const page = await (await set.open({ javaScriptEnabled: false })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  const lost = await page.goto(`${batch}/tasting?tastings=many&protocol=square`);
  assert.equal(lost.status(), 422);
  assert.match(await page.locator("#shows").innerText(), /no way of asking/);
  await page.goto(`${batch}/tasting`);
  await page.getByLabel("Tastings in all").fill("0");
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
  assert.match(await page.locator("#tastings-fault").innerText(), /whole number from 1 to 600/);
  assert.equal(await page.getByLabel("Tastings in all").inputValue(), "0");
  await page.getByLabel("Tastings in all").fill("6");
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
  assert.match(await page.locator("#tasters-fault").innerText(), /nobody tastes/);
  await page.getByLabel("Who tastes").fill("Ann");
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
  await page.waitForURL("**/tasting/*");
  await page.getByLabel("Number of the tasting").fill("9");
  await page.getByLabel("Code that was named").fill("<b>");
  await page.getByRole("button", { name: "Keep the answer" }).click();
  assert.match(await page.locator("#tasting-fault").innerText(), /no tasting 9/);
  assert.equal(await page.getByLabel("Code that was named").inputValue(), "<b>");
});

test("single glasses are tasted one by one, and the result stands beside what was reckoned", async () => {
  const page = await (await set.open({ viewport: HAND })).newPage();
  const batch = await openDemo(page, "lantern-pale");
  await page.goto(`${batch}/tasting`);
  await page.getByLabel("Way", { exact: true }).selectOption("a-not-a");
  await page.getByRole("button", { name: "See what it can show" }).click();
  await page.getByText(/6 single glasses see a difference/).waitFor();
  await page.getByLabel("Tastings in all").fill("4");
  await page.getByLabel("Who tastes").fill("Ann");
  await page.getByLabel("Scored in both beers afterwards, between commas").fill("clove");
  await page.getByRole("button", { name: "Draw orders and codes" }).click();
  await page.waitForURL("**/tasting/*");
  const home = page.url();
  await page.goto(`${home}/taster/1`);
  for (let n = 1; n <= 4; n += 1) {
    assert.match(await page.locator("main").innerText(), /Is this glass the reference, or another beer/);
    await page.getByRole("radio", { name: "another beer" }).check();
    await page.getByRole("button", { name: "Keep this answer" }).click();
    await page.getByText(`${n} of 4 answered`).waitFor();
  }
  assert.deepEqual(await violations(page), []);
  for (const field of await page.locator('fieldset.points input').all()) await field.fill("0");
  await page.getByRole("button", { name: "Keep these points" }).click();
  await page.goto(home);
  const told = await page.locator("main").innerText();
  assert.match(told, /No difference is shown: 2 of 2 glasses of the batch were called another beer, 2 of 2 of the reference/);
  assert.match(told, /What the glass should hold, against what was found[\s\S]*4-vinylguaiacol[\s\S]*less than was reckoned/);
  assert.deepEqual(await violations(page), []);
  assert.equal(await cutOff(page), false, "nothing is cut off at the side");
});
