"use strict";
// One fish is one open card. Everything a person enters is kept in the browser's own store until the server has it;
// each card has an identity made here, so that sending it twice stores it once.
const $ = id => document.getElementById(id);
const survey = document.body.dataset.survey, unit = document.body.dataset.unit;
const pounds = document.body.dataset.weightUnit === "lb";
const base = "/boat/" + encodeURIComponent(survey);
const EIGHTHS = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];
let shown = null;        // what the server said last: classes, last ten, free labels
let card = emptyCard(), slot = "length";
let queue = [], refused = [], sending = false, linked = true, stored = [], undone = [];

function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map(one => one.toString(16).padStart(2, "0")).join("");
}
function emptyCard() {
  return {id: newId(), length: "", eighths: 0, lb: "", oz: "", w: "", vial: "", started: false};
}

// --- what is kept here until it is handed over ---
const kept = new Promise(resolve => {
  try {
    const asked = indexedDB.open("geneticlog-boat", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("work", {keyPath: "key"});
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => resolve(null);
  } catch { resolve(null); }
});
async function keep() {
  const store = await kept;
  const work = {key: survey, queue, refused, card, stored: stored.slice(-20)};
  if (!store) return;
  await new Promise(done => {
    const change = store.transaction("work", "readwrite");
    change.objectStore("work").put(JSON.parse(JSON.stringify(work)));
    change.oncomplete = change.onerror = done;
  });
}
async function remember() {
  const store = await kept;
  if (!store) { say("This browser keeps nothing: hand everything over before you close the page.", true); return; }
  const work = await new Promise(done => {
    const look = store.transaction("work").objectStore("work").get(survey);
    look.onsuccess = () => done(look.result);
    look.onerror = () => done(null);
  });
  if (work) ({queue, refused, card, stored} = {card: emptyCard(), stored: [], ...work});
}
addEventListener("beforeunload", event => { if (queue.length) { event.preventDefault(); event.returnValue = ""; } });

// --- the link ---
async function ask(path, body) {
  const answer = await fetch(base + path, body === undefined ? {headers: {accept: "application/json"}} :
    {method: "POST", headers: {"content-type": "application/json", accept: "application/json"}, body: JSON.stringify(body)});
  const said = await answer.json().catch(() => ({fault: "The server did not answer in a way that can be read."}));
  return {status: answer.status, ok: answer.ok, said};
}
async function refresh() {
  try {
    const answer = await ask("/state");
    linked = true;
    if (answer.status === 401) { location.href = "/pair"; return; }
    if (answer.ok) { shown = answer.said; try { localStorage.setItem("geneticlog " + survey, JSON.stringify(shown)); } catch {} }
  } catch { linked = false; }
  draw();
}
async function handOver() {
  if (sending) return;
  sending = true;
  try {
    while (queue.length) {
      const work = queue[0];
      let answer;
      try { answer = await ask(work.path, work.body); linked = true; }
      catch { linked = false; break; }
      if (answer.status >= 500 || answer.status === 401) {
        say(answer.said.fault || "The server cannot store now; it is kept here.", true);
        if (answer.status === 401) linked = false;
        break;
      }
      queue.shift();
      await took(work, answer);
      await keep();
    }
  } finally { sending = false; }
  draw();
}
async function took(work, answer) {
  if (answer.ok) {
    if (answer.said.words) say(answer.said.words, false);
    if (answer.said.doing === "undone") refused.push({...work, why: "It was taken out before, and stays out; log it again if it is another fish."});
    tone(true);
    await refresh();
    return;
  }
  tone(false);
  if (answer.said.ask) {
    const yes = await question(answer.said.ask.join(" "), ["It is so", "Change it"]);
    if (yes === "It is so") {
      queue.unshift({...work, body: {...work.body, sure: [...(work.body.sure || []), ...answer.said.kinds]}});
      return;
    }
    back(work);
    return;
  }
  say(answer.said.fault, true);
  if (work.path === "/fish" && !card.started) back(work); else refused.push({...work, why: answer.said.fault});
}
function back(work) {  // what was not stored is on the card again, if that is empty; else it waits among the refused
  if (work.card && !card.started) { card = {...work.card}; stored = stored.filter(one => one.id !== card.id); }
  else refused.push({...work, why: "to be changed"});
}
function send(path, body, also = {}) {
  queue.push({path, body: {...body, at: new Date().toISOString()}, ...also});
  keep();
  handOver();
}

// --- the card ---
function lengthText(one = card) {
  if (!one.length && !one.eighths) return "";
  return one.eighths ? `${one.length || 0} ${EIGHTHS[one.eighths]}`.trim() : one.length;
}
function weightText() {
  if (!pounds) return card.w;
  return [card.lb && card.lb + " lb", card.oz && card.oz + " oz"].filter(Boolean).join(" ");
}
function lengthNumber() { return card.length === "" && !card.eighths ? null : Number(card.length || 0) + card.eighths / 8; }
function classOf(length) {
  let found = null;
  if (length !== null && shown) for (const one of shown.classes) if (one.least === null || length >= one.least) found = one;
  return found;
}
function press(key) {
  undone = [];
  card.started = true;
  if (key === "back") {
    if (slot === "length" && card.eighths) card.eighths = 0; else card[slot] = card[slot].slice(0, -1);
  } else if (key.startsWith("e")) {
    if (slot !== "length") return;
    const n = Number(key.slice(1));
    card.eighths = n === 1 ? (card.eighths + 1) % 8 : n;
  } else if (key === ".") {
    if (!card[slot].includes(".")) card[slot] += card[slot] ? "." : "0.";
  } else if (card[slot].length < 6) card[slot] += key;
  changed();
}
async function takeVial(text) {
  const code = text.trim();
  card.started = true;
  if (card.vial && card.vial !== code) {
    const answer = await question(`This fish has vial ${card.vial} and no length yet. Take ${code} instead?`, ["Take the new one", "Keep the first"]);
    if (answer !== "Take the new one") return;
  }
  card.vial = code;
  undone = [];
  changed(true);
}
function changed(scanned) {  // a scan completes a measured fish; digits never do, for another may follow
  const weighed = shown && shown.order.weighed;
  if (scanned && card.vial && lengthText() && (!weighed || weightText())) { close(); return; }
  keep(); draw();
  ask("/open", {words: [lengthText() && lengthText() + " " + unit, weightText(), card.vial].filter(Boolean).join(", ")}).catch(() => {});
}
function close(more = {}) {
  const body = {id: card.id, length: lengthText() ? `${lengthText()} ${unit}` : "", weight: weightText() && !pounds ? `${weightText()} ${document.body.dataset.weightUnit}` : weightText(), vial: card.vial, ...more};
  stored.push({id: card.id, body});
  const closed = {...card};
  card = emptyCard(); slot = "length";
  send("/fish", body, {card: closed});
  draw();
}

// --- what is on the screen ---
function draw() {
  $("s-length").textContent = lengthText() ? lengthText() + " " + unit : "–";
  for (const name of ["lb", "oz", "w"]) if ($("s-" + name)) $("s-" + name).textContent = card[name] || "–";
  $("s-vial").textContent = card.vial || "–";
  for (const one of document.querySelectorAll("button.slot")) one.setAttribute("aria-pressed", String(one.dataset.slot === slot));
  const its = classOf(lengthNumber());
  document.body.classList.toggle("swab", Boolean(its && its.short_by));
  document.body.classList.toggle("none", Boolean(its && its.short_by === 0));
  let banner = "Measure the fish";
  if (its && its.short_by) banner = `SWAB: ${its.size_class}, ${its.n_swabbed} of ${its.target}`;
  else if (its && its.short_by === 0) banner = `NO SWAB NEEDED: ${its.size_class} has ${its.n_swabbed} of ${its.target}`;
  else if (its) banner = `${its.size_class}: ${its.n_swabbed} swabbed, no target`;
  else if (card.vial) banner = "Vial taken. Measure its fish";
  $("banner").textContent = banner;
  $("measured").textContent = card.vial ? "Store fish" : "Only measured";
  $("held").textContent = `${queue.length} held, ${refused.length} refused`;
  $("link").textContent = linked ? "The server answers." : "The server cannot be reached. What you enter is kept here and sent when it is back." + (isSecureContext ? "" : " Do not reload this page meanwhile.");
  list("refused", refused, (one, at) => {
    const item = document.createElement("li");
    item.textContent = `${one.body.length || ""} ${one.body.vial || ""}: ${one.why} `;
    item.append(key("Put on the card", () => { if (one.card && !card.started) { card = {...one.card, id: newId()}; refused.splice(at, 1); keep(); view("fish"); draw(); } }), key("Let go", async () => {
      if (await question("Let this fish go? It is stored nowhere.", ["Let it go", "Keep it"]) === "Let it go") { refused.splice(at, 1); keep(); draw(); }
    }));
    return item;
  });
  if (!shown) return;
  $("crew").textContent = `${shown.person}, ${shown.device}`;
  $("order").textContent = "Order of work: " + (shown.order.first === "vial" ? "vial first" : shown.order.first === "length" ? "measure first" : "any");
  $("others").textContent = shown.others.map(one => `${one.person} (${one.device}) has open: ${one.words}`).join(" · ");
  const used = new Set(queue.map(one => one.body.vial));
  const wanted = $("four").value.toUpperCase().replace(/\s/g, "");
  list("free", shown.free.filter(code => code.endsWith(wanted) || code.slice(-4).includes(wanted)).filter(code => !used.has(code)).slice(0, 16), code => key(code.slice(-4), () => { view("fish"); takeVial(code); }, code));
  list("classes", shown.classes, one => tile(`${one.size_class}: ${one.n_swabbed}${one.target === null ? "" : " of " + one.target}`, `${one.n_caught} caught, ${one.label}`, one.short_by));
  list("waiting", shown.last.filter(one => !one.swabbed && one.id && !released.has(one.id)), one => {
    const its = shown.classes.find(c => one.words.includes(", " + c.size_class));
    const found = tile(one.words, its && its.short_by ? "its class is still short" : "", its && its.short_by);
    found.append(key("Give it a vial", () => { card = {...emptyCard(), id: one.id, started: true, waits: one.words}; attach = one; view("fish"); say(`Scan the vial of ${one.words}.`, false); draw(); }));
    found.append(key("Release", async () => {
      if (its && its.short_by && await question(`${its.size_class} is still short by ${its.short_by}. Release it without a swab?`, ["Release", "Keep it"]) !== "Release") return;
      released.add(one.id); draw();
    }));
    return found;
  });
  list("ten", shown.last, one => {
    const found = tile(one.words, one.swabbed ? "" : "no vial", false);
    found.append(key("Correct", () => correct(one)));
    return found;
  });
}
const released = new Set();
let attach = null;
function list(id, items, make) { $(id).replaceChildren(...items.map(make)); }
function key(text, deed, whole) {
  const found = document.createElement("button");
  found.className = "k"; found.textContent = text; found.addEventListener("click", deed);
  if (whole) found.setAttribute("aria-label", whole);
  return found;
}
function tile(text, more, short) {
  const found = document.createElement("div");
  found.className = "tile" + (short ? " short" : "");
  const first = document.createElement("p"), second = document.createElement("p");
  first.textContent = text; second.textContent = more;
  found.append(first, second);
  return found;
}
function view(name) {
  for (const one of ["fish", "well", "tally", "last", "picker"]) $(one).hidden = one !== name;
  for (const one of document.querySelectorAll("nav .k")) one.toggleAttribute("aria-current", one.dataset.view === name), one.dataset.view === name && one.setAttribute("aria-current", "page");
  draw();
}
let quiet;
function say(text, bad) {
  $("said").textContent = text; $("said").classList.toggle("bad", bad);
  clearTimeout(quiet);
  if (!bad) quiet = setTimeout(() => { $("said").textContent = ""; }, 6000);
}
function question(text, answers, content) {
  return new Promise(resolve => {
    $("ask-text").textContent = text;
    const keys = answers.map(answer => key(answer, () => { $("ask").close(); resolve(answer); }));
    $("ask-keys").replaceChildren(...(content || []), ...keys);
    $("ask").addEventListener("cancel", () => resolve(null), {once: true});
    $("ask").showModal();
  });
}
async function correct(one) {
  const field = document.createElement("input");
  field.setAttribute("aria-label", "New length"); field.inputMode = "decimal"; field.placeholder = "length in " + unit;
  const reasons = [...$("reasons").content.children].map(found => found.textContent);
  const why = await question(`New length of ${one.words}. Then why:`, [...reasons, "Leave it"], [field]);
  if (!why || why === "Leave it" || !field.value.trim()) return;
  send("/correct", {fish: one.fish, length: field.value.trim(), why});
}
let sounds;
function tone(good) {
  if (navigator.vibrate) navigator.vibrate(good ? 60 : [120, 80, 120]);
  try {
    sounds = sounds || new AudioContext();
    const played = sounds.createOscillator(), loud = sounds.createGain();
    played.frequency.value = good ? 880 : 220; loud.gain.value = 0.08;
    played.connect(loud).connect(sounds.destination);
    played.start(); played.stop(sounds.currentTime + (good ? 0.12 : 0.5));
  } catch {}
}

// --- keys, scanner, photo ---
for (const [text, name, label] of [["7", "7"], ["8", "8"], ["9", "9"], ["¼", "e2", "a quarter"], ["4", "4"], ["5", "5"], ["6", "6"], ["½", "e4", "a half"], ["1", "1"], ["2", "2"], ["3", "3"], ["¾", "e6", "three quarters"], ["⌫", "back", "delete"], ["0", "0"], [".", ".", "point"], ["+⅛", "e1", "an eighth more"]])
  $("pad").append(key(text, () => press(name), label));
for (const one of document.querySelectorAll("button.slot")) one.addEventListener("click", () => { slot = one.dataset.slot; draw(); });
for (const one of document.querySelectorAll("nav .k")) one.addEventListener("click", () => view(one.dataset.view));
$("trip-key").addEventListener("click", () => { $("trip").hidden = !$("trip").hidden; $("trip-key").setAttribute("aria-expanded", String(!$("trip").hidden)); draw(); });
$("pick").addEventListener("click", () => { view("picker"); $("four").value = ""; $("four").focus(); draw(); });
$("four").addEventListener("input", draw);
$("clear").addEventListener("click", () => { card = emptyCard(); attach = null; slot = "length"; changed(); });
$("measured").addEventListener("click", async () => {
  if (!lengthText()) { say("Measure the fish first.", true); return; }
  if (card.vial) { close(); return; }
  const its = classOf(lengthNumber());
  if (its && its.short_by && await question(`${its.size_class} is still short by ${its.short_by}. Log it without a swab?`, ["Without a swab", "Back"]) !== "Without a swab") return;
  close({vial: ""});
});
$("undo").addEventListener("click", () => {
  const last = stored.pop();
  if (!last) { say("Nothing was logged on this device that could be undone.", true); return; }
  undone.push(last); send("/undo", {id: last.id});
});
$("redo").addEventListener("click", () => {
  const last = undone.pop();
  if (!last) { say("There is nothing to redo.", true); return; }
  stored.push(last); send("/fish", {...last.body, again: true});
});
$("photo").addEventListener("change", async () => {
  const file = $("photo").files[0];
  $("photo").value = "";
  if (!file) return;
  say("Reading the label …", false);
  const form = new FormData();
  form.append("photo", file);
  try {
    const answer = await fetch("/photo", {method: "POST", body: form, headers: {accept: "application/json"}});
    const said = await answer.json();
    if (!answer.ok) { tone(false); say(said.fault, true); return; }
    say("Vial " + said.printed, false);
    await takeVial(said.vial);
  } catch { tone(false); say("The server cannot be reached, so the photo cannot be read: pick the vial by its last characters.", true); }
});
let typed = "", typing;
addEventListener("keydown", event => {  // a scanner types fast; a person types one key at a time
  if (event.target instanceof HTMLInputElement && event.target.type !== "file" || $("ask").open || event.ctrlKey || event.metaKey || event.altKey) return;
  const whole = typed.length >= 7;
  if (event.key === "Enter" || event.key === "Tab") {
    if (whole) { event.preventDefault(); const code = typed; typed = ""; clearTimeout(typing); takeVial(code); }
    return;
  }
  if (event.key === "Backspace" && !typed) { press("back"); return; }
  if (event.key.length !== 1) return;
  typed += event.key;
  clearTimeout(typing);
  typing = setTimeout(() => {
    const text = typed;
    typed = "";
    if (text.length >= 7) takeVial(text);
    else for (const one of text) if (/[0-9.]/.test(one)) press(one);
  }, 80);
});

(async () => {
  await remember();
  try { shown = JSON.parse(localStorage.getItem("geneticlog " + survey)); } catch {}
  draw();
  await refresh();
  handOver();
  setInterval(async () => { if (queue.length) await handOver(); if (!document.hidden) await refresh(); }, 3000);
})();
