// One tab of Firefox at a phone's width: opens the link, goes through the places, and adds a photo; prints what it saw.
import puppeteer from "puppeteer-core";

const [link, photo, firefox] = process.argv.slice(2);
const browser = await puppeteer.launch({ browser: "firefox", executablePath: firefox, headless: true });
const errors = [], places = {};
try {
  const tab = await browser.newPage();
  tab.on("pageerror", (error) => errors.push(String(error)));
  tab.on("console", (said) => { if (said.type() === "error") errors.push(said.text()); });
  await tab.setViewport({ width: 390, height: 844 });
  await tab.goto(link, { waitUntil: "load" });
  await tab.waitForSelector(".sm-big", { timeout: 60000 });
  const before = await tab.$eval(".sm-change", (one) => one.innerText);
  for (const place of ["photos", "zones", "next", "settings", "share", "today"]) {
    await tab.evaluate((name) => { location.hash = name; }, place);
    await new Promise((done) => setTimeout(done, 1500));
    places[place] = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  }
  await (await tab.$("[data-role=choose]")).uploadFile(photo);
  await tab.waitForFunction(
    (old) => document.querySelector(".sm-change").innerText !== old, { timeout: 60000 }, before);
  const after = await tab.$eval(".sm-change", (one) => one.innerText);
  console.log(JSON.stringify({ before, after, places, errors }));
} finally {
  await browser.close();
}
