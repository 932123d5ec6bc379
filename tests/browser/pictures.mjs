// Takes the pictures of the README into docs/pictures. Nothing in them depends on
// the day: run again, they are the same.
import { mkdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { DESK, Server, browse, openDemo, worked } from "./lib.mjs";

const FOLDER = fileURLToPath(new URL("../../docs/pictures/", import.meta.url));

const PICTURES = [
  { name: "stream", bench: "water", viewport: DESK },
  { name: "ferment", bench: "ferment", viewport: DESK, chart: "course" },
  { name: "glass", bench: "glass", viewport: DESK, chart: "glass" },
  { name: "phone", bench: "water", viewport: { width: 390, height: 844 } },
  { name: "dark", bench: "water", viewport: DESK, colorScheme: "dark" },
];

// Pages of what is asked about a batch.
const ASKED = [
  ["chlorine"], ["waters"], ["course"], ["certainty"],
  ["match", "match?bitterness=45 ± 3 IBU&alcohol=6.8 ± 0.2 %&original_gravity=free&find=1"],
];

// An invented log, as a sensor would send it.
const LOG = readFileSync(new URL("../../examples/logs/lantern-pale.csv", import.meta.url), "utf8").trim().split("\n").slice(1)
  .map((line) => line.split(","))
  .flatMap(([time, instrument, gravity, temperature]) => {
    const [n, t] = [instrument.split(" ")[0], Date.parse(time) / 1000];
    const warmth = { n: `${n}/temperature`, u: "Cel", v: Number(temperature), t };
    return [{ n: `${n}/sg`, u: "/", v: Number(gravity), t }, ...(temperature ? [warmth] : [])];
  });

// Place and figures are invented.
const REPORT = "Sampled 2026-09-14\nCalcium (Ca): 96 ± 4 mg/L\nMagnesium 11 mg/L\nSodium 18 mg/L\nAlkalinity 205 mg/L\nSulfate 62 mg/L\nChloride 38 mg/L\nTotal chlorine 1.1 mg/L\n";

mkdirSync(FOLDER, { recursive: true });
const server = await Server.start();
const browser = await browse();
try {
  for (const { name, bench, viewport, chart, colorScheme = "light" } of PICTURES) {
    const page = await browser.newPage({ baseURL: server.address, viewport, colorScheme, reducedMotion: "reduce", deviceScaleFactor: 1 });
    const path = await openDemo(page);
    await page.goto(`${path}?bench=${bench}`, { waitUntil: "networkidle" });
    await page.evaluate(() => document.fonts.ready);
    // A bench is longer than a window: its chart stands at the end of the picture.
    if (chart) await page.locator("section.card", { has: page.locator(`a[href$="/chart/${chart}.svg"]`) }).evaluate((card) => card.scrollIntoView({ block: "end" }));
    await page.screenshot({ path: `${FOLDER}${name}.png`, animations: "disabled", caret: "hide" });
    await page.close();
    console.log(`docs/pictures/${name}.png`);
  }
  const page = await browser.newPage({ baseURL: server.address, viewport: DESK, colorScheme: "light", reducedMotion: "reduce", deviceScaleFactor: 1 });
  await page.goto("/waters/read");
  await page.getByLabel("Paste the report").fill(REPORT);
  await page.getByRole("button", { name: "Read it", exact: true }).click();
  await page.locator(".lines").waitFor();
  await page.evaluate(() => document.fonts.ready);
  await page.screenshot({ path: `${FOLDER}report.png`, animations: "disabled", caret: "hide" });
  await page.close();
  console.log("docs/pictures/report.png");
  const asks = await browser.newPage({ baseURL: server.address, viewport: DESK, colorScheme: "light", reducedMotion: "reduce", deviceScaleFactor: 1 });
  await asks.goto("/waters");
  await asks.locator('form[action="/waters/demo"] button').click();
  await asks.waitForURL("**/waters");
  const path = await openDemo(asks, "lantern-pale");
  await asks.request.post(`/api${path.replace("batch", "batches")}/readings`, {
    headers: { "content-type": "application/senml+json" }, data: JSON.stringify(LOG),
  });
  const take = async (name, address) => {
    await asks.goto(address);
    await worked(asks);
    await asks.waitForLoadState("networkidle");
    await asks.evaluate(() => document.fonts.ready);
    await asks.screenshot({ path: `${FOLDER}${name}.png`, animations: "disabled", caret: "hide" });
    console.log(`docs/pictures/${name}.png`);
  };
  for (const [name, page = name] of ASKED) await take(name, `${path}/${page}`);
  const first = await openDemo(asks);
  await take("compare", `/compare?of=${first.split("/")[2]}&of=${path.split("/")[2]}`);
  await asks.close();
} finally {
  await browser.close();
  await server.close();
}
