// The page that is shown while the page itself cannot be reached: photos and notes wait in the browser, and it opens when it can.
import { allKept, counted, keep, newNote, today } from "/js/waiting.js";

const TRY_MS = 10000, { lawn, words } = JSON.parse(document.getElementById("known").textContent);
const state = document.getElementById("state"), point = document.getElementById("point");

async function show() {
  const kept = await allKept();
  state.textContent = kept.length ? counted(words, kept) : "";
}

async function wait(record) {
  try { await keep({ lawn: lawn.key, lawnName: lawn.name, ...record }); await show(); return true; } catch { state.textContent = words.unkept; return false; }
}

async function take(event) {
  const files = [...event.target.files];
  event.target.value = "";
  for (const file of files) await wait({ file, name: file.name, point: point ? point.value : lawn.points[0] || "main", day: "" });
}

async function write(event) {
  const form = event.target, fields = [...form.elements].filter((field) => field.name);
  event.preventDefault();
  const shown = fields.map((field) => field.selectedOptions ? field.selectedOptions[0].textContent : field.value);
  const note = newNote(form.dataset.kind, Object.fromEntries(fields.map((field) => [field.name, field.value])));
  if (await wait({ name: [form.dataset.title, ...shown.filter(Boolean)].join(", "), note })) { begin(form); form.closest("details").open = false; }
}

function begin(form) {
  form.reset();
  form.elements.date.value = today();
}

async function again() {
  try { if ((await fetch("/healthz", { cache: "no-store" })).ok) location.replace("/"); } catch { /* still not */ }
}

const again_unless_writing = () => { if (!document.querySelector("details[open]")) again(); };

for (const field of document.querySelectorAll("input[type=file]")) field.addEventListener("change", take);
for (const form of document.forms) { begin(form); form.addEventListener("submit", write); }
document.getElementById("again").addEventListener("click", again);
window.addEventListener("online", again_unless_writing);
setInterval(again_unless_writing, TRY_MS);
show().catch(() => {});
