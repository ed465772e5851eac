// Opens a sheet in a real browser and prints, as one JSON record, what a person would see.
// node look.mjs CHROMIUM FILE.html
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [program, file] = process.argv.slice(2);
const address = pathToFileURL(file).href;
const browser = await chromium.launch({ executablePath: program, args: ["--no-sandbox"] });
const record = { faults: [], fetched: [] };

async function open(options, then) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.on("pageerror", (fault) => record.faults.push(String(fault)));
  page.on("console", (said) => said.type() === "error" && record.faults.push(said.text()));
  page.on("request", (request) => request.url() === address || record.fetched.push(request.url()));
  await page.goto(address);
  const answer = await then(page);
  await context.close();
  return answer;
}

const told = (page) => page.locator("#told").innerText();
const wide = (page) => page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
const paper = (page) => page.evaluate(() => getComputedStyle(document.querySelector("section.page")).backgroundColor);

record.desk = await open({ viewport: { width: 1440, height: 900 } }, async (page) => {
  const seen = { first: await told(page), wide: await wide(page), paper: await paper(page) };
  await page.fill("#date", "2027-03-13");
  seen.picked = await told(page);
  await page.locator("#later").focus();
  await page.keyboard.press("Enter");
  seen.button = await told(page);
  await page.locator("figure.nights").first().focus();
  await page.keyboard.press("ArrowLeft");
  seen.left = await told(page);
  await page.keyboard.press("End");
  seen.end = await told(page);
  const picture = page.locator("figure.nights svg").first();
  await picture.scrollIntoViewIfNeeded();
  const frame = await picture.boundingBox();
  const [left, right, width] = await picture.evaluate((svg) =>
    [Number(svg.dataset.left), Number(svg.dataset.right), svg.viewBox.baseVal.width]);
  const x = frame.x + (left + (right - left) * 0.5) * frame.width / width;
  await page.mouse.move(x, frame.y + frame.height / 2);
  seen.hovered = await told(page);
  seen.cursors = await page.locator(".cursor").count();
  return seen;
});
record.phone = await open({ viewport: { width: 375, height: 720 } }, async (page) => ({
  wide: await wide(page),
  clear: await page.evaluate(() => {
    location.hash = "#months";
    return document.querySelector("#title-months").getBoundingClientRect().top
      - document.querySelector("#night").getBoundingClientRect().bottom;
  }),
}));
record.night = await open({ viewport: { width: 1440, height: 900 }, colorScheme: "dark" }, async (page) => ({
  paper: await paper(page),
  ground: await page.evaluate(() => getComputedStyle(document.querySelector(".year .ground")).fill),
}));
record.plain = await open({ javaScriptEnabled: false, viewport: { width: 1440, height: 900 } }, async (page) => ({
  panel: await page.locator("#night").isVisible(),
  note: await page.locator(".noscript").innerText(),
  pictures: await page.locator("figure.nights svg").count(),
  words: await page.locator("main").innerText(),
}));
record.paper = await open({}, async (page) => {
  const printed = async (format) => (await page.pdf({ format, preferCSSPageSize: true })).toString("base64");
  return { a4: await printed("A4"), letter: await printed("Letter") };
});
record.print = await open({ viewport: { width: 800, height: 1000 } }, async (page) => {
  await page.emulateMedia({ media: "print" });
  return {
    screen: await page.locator("nav").isVisible(),
    foot: await page.locator("table.paper > tfoot .foot").isVisible(),
  };
});
await browser.close();
console.log(JSON.stringify(record));
