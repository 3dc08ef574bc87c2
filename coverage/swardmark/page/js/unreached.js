// The page that is shown while the page itself cannot be reached: photos wait in the browser, and it opens when it can.
import { keepPhoto, keptPhotos } from "/js/waiting.js";

const TRY_MS = 10000, { lawn, words } = JSON.parse(document.getElementById("known").textContent);
const state = document.getElementById("state"), point = document.getElementById("point");

async function show() {
  const count = (await keptPhotos()).length;
  state.textContent = count === 0 ? "" : count === 1 ? words.one : words.many.replace("{count}", count);
}

async function take(event) {
  const files = [...event.target.files];
  event.target.value = "";
  try {
    for (const file of files) {
      await keepPhoto({ lawn: lawn.key, lawnName: lawn.name, file, name: file.name, point: point ? point.value : lawn.points[0] || "main", day: "" });
    }
    await show();
  } catch { state.textContent = words.unkept; }
}

async function again() {
  try { if ((await fetch("/healthz", { cache: "no-store" })).ok) location.replace("/"); } catch { /* still not */ }
}

for (const field of document.querySelectorAll("input[type=file]")) field.addEventListener("change", take);
document.getElementById("again").addEventListener("click", again);
window.addEventListener("online", again);
setInterval(again, TRY_MS);
show().catch(() => {});
