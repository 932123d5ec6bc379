// Takes the pictures of the README into docs/pictures. Nothing in them depends on
// the day: run again, they are the same.
import { mkdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { DESK, Server, browse, openDemo } from "./lib.mjs";

const FOLDER = fileURLToPath(new URL("../../docs/pictures/", import.meta.url));

const PICTURES = [
  { name: "stream", bench: "water", viewport: DESK },
  { name: "ferment", bench: "ferment", viewport: DESK, chart: "course" },
  { name: "glass", bench: "glass", viewport: DESK, chart: "glass" },
  { name: "phone", bench: "water", viewport: { width: 390, height: 844 } },
  { name: "dark", bench: "water", viewport: DESK, colorScheme: "dark" },
];

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
} finally {
  await browser.close();
  await server.close();
}
