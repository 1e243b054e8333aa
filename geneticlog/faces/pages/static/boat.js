"use strict";
// One fish is one open card. Everything a person enters is kept in the browser's own store until the server has it;
// each card has an identity made here, so that sending it twice stores it once.
const $ = id => document.getElementById(id);
const {survey, unit, weightUnit, writes} = document.body.dataset;
const pounds = weightUnit === "lb", inches = unit === "in";
const base = "/boat/" + encodeURIComponent(survey);
const longest = Number(document.body.dataset.longest);  // what no fish of the species can be longer than
const EIGHTHS = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];
const WAIT = 10000;      // milliseconds for an answer; what came too late is known by its identity when it is sent again
let shown = null;        // what the server said last: classes, last ten, well, free labels
let card = emptyCard(), slot = "length";
let queue = [], refused = [], stored = [], undone = [];
let sending = false, linked = true, reloads = false;

function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map(one => one.toString(16).padStart(2, "0")).join("");
}
// waits: the fish in the well or in the log that a part is added to; second: the next scan is its second vial
function emptyCard() {
  return {id: newId(), length: "", eighths: 0, lb: "", oz: "", w: "", vial: "", started: false, waits: null, second: false};
}

// --- what is kept here until it is handed over: a row for each thing, so that two tabs lose nothing of each other ---
const store = new Promise(resolve => {
  try {
    const asked = indexedDB.open("geneticlog-boat", 2);
    asked.onupgradeneeded = () => { if (!asked.result.objectStoreNames.contains("kept")) asked.result.createObjectStore("kept", {keyPath: "key"}); };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = asked.onblocked = () => resolve(null);
  } catch { resolve(null); }
});
let kept_n = 0;
const keyOf = kind => [survey, kind, String(Date.now()).padStart(15, "0"), String(kept_n++).padStart(6, "0"), newId()].join("|");
async function inStore(deed) {
  const opened = await store;
  if (!opened) return null;
  return new Promise(done => {
    const change = opened.transaction("kept", "readwrite");
    const asked = deed(change.objectStore("kept"));
    change.oncomplete = () => done(asked.result);
    change.onerror = change.onabort = () => { say("This device could not keep what you entered: its storage is full. Hand over before you close the page.", true); done(null); };
  });
}
function keep(kind, one) {
  one.key = one.key || keyOf(kind);
  inStore(kept => kept.put(JSON.parse(JSON.stringify(one))));
  return one;
}
function letGo(one) { if (one.key) inStore(kept => kept.delete(one.key)); }
function keepCard() { inStore(kept => kept.put({key: survey + "|card", card: {...card}, stored: stored.slice(-20)})); }
async function remember() {
  if (!await store) { say("This browser keeps nothing: hand everything over before you close the page.", true); return; }
  const rows = await inStore(kept => kept.getAll(IDBKeyRange.bound(survey + "|", survey + "|~"))) || [];
  for (const row of rows) {
    const kind = row.key.split("|")[1];
    if (kind === "card") { card = {...emptyCard(), ...row.card}; stored = row.stored || []; }
    else (kind === "refused" ? refused : queue).push(row);
  }
}
addEventListener("beforeunload", event => { if (queue.length || refused.length) { event.preventDefault(); event.returnValue = ""; } });

// --- the link ---
async function ask(path, body, whole = {}) {
  const stop = new AbortController(), late = setTimeout(() => stop.abort(), WAIT);
  try {
    const answer = await fetch(base + path, body === undefined ? {headers: {accept: "application/json"}, signal: stop.signal} :
      {method: "POST", headers: {"content-type": "application/json", accept: "application/json"}, body: JSON.stringify(body), signal: stop.signal, ...whole});
    const said = await answer.json().catch(() => ({fault: "The server did not answer in a way that can be read."}));
    return {status: answer.status, ok: answer.ok, said};
  } finally { clearTimeout(late); }
}
async function refresh() {
  try {
    const answer = await ask("/state");
    linked = true;
    if (answer.status === 401 && !queue.length) { location.href = "/pair"; return; }
    if (answer.status === 401) say("This device is not paired any more. What you entered is kept here: pair it again on this page's address.", true);
    if (answer.ok) { shown = answer.said; try { localStorage.setItem("geneticlog " + survey, JSON.stringify(shown)); } catch {} }
  } catch { linked = false; }
  draw();
}
async function handOver() {
  if (sending) return;
  sending = true;
  let took_one = false;
  try {
    while (queue.length) {
      const work = queue[0];
      let answer;
      try { answer = await ask(work.path, work.body); linked = true; }
      catch { linked = false; break; }
      if (answer.status >= 500 || answer.status === 401 || answer.status === 408) {
        say((answer.said.fault || "The server cannot store now.") + " It is kept here and sent again.", true);
        break;
      }
      queue.shift();
      letGo(work);
      await took(work, answer);
      took_one = true;
    }
  } finally { sending = false; }
  if (took_one) await refresh(); else draw();
}
async function took(work, answer) {
  tone(answer.ok);
  if (answer.ok) {
    if (answer.said.words) say(answer.said.words, false);
    if (answer.said.doing === "undone") refuse(work, "It was taken out before, and stays out; log it again if it is another fish.");
    return;
  }
  if (answer.said.ask) {
    const yes = await question(answer.said.ask.join(" "), ["It is so", "Change it"]);
    if (yes === "It is so") {
      queue.unshift(keep("queue", {...work, body: {...work.body, sure: [...(work.body.sure || []), ...answer.said.kinds]}}));
      return;
    }
    back(work, "to be changed");
    return;
  }
  say(answer.said.fault, true);
  back(work, answer.said.fault);
}
function refuse(work, why) { refused.push(keep("refused", {...work, key: undefined, why})); }
function back(work, why) {  // what was not stored is on the card again, if that is empty; else it waits among the refused
  stored = stored.filter(one => one.key !== work.undoes);
  if (work.card && !card.started && !card.waits) { card = {...work.card, started: true}; keepCard(); }
  else refuse(work, why);
}
function send(path, body, also = {}) {
  queue.push(keep("queue", {path, body: {...body, at: new Date().toISOString()}, ...also}));
  handOver();
}

// --- the card ---
function lengthText(one = card) {
  if (!one.length && !one.eighths) return "";
  return one.eighths ? `${one.length || 0} ${EIGHTHS[one.eighths]}`.trim() : one.length;
}
function weightText(one = card) {
  if (!pounds) return one.w && `${one.w} ${weightUnit}`;
  return [one.lb && one.lb + " lb", one.oz && one.oz + " oz"].filter(Boolean).join(" ");
}
function lengthNumber() { return card.length === "" && !card.eighths ? null : Number(card.length || 0) + card.eighths / 8; }
function classOf(length) {
  let found = null;
  if (length !== null && length <= longest && shown) for (const one of shown.classes) if (one.least === null || length >= one.least) found = one;
  return found;
}
// the fish that cover a target: a swab that failed at the lab covers nothing any more
const covered = one => one.n_covering ?? one.n_swabbed;
const failed = one => one.n_failed ? `, ${one.n_failed} failed` : "";
const weighed = () => shown ? shown.order.weighed : null;
function press(key) {
  if (card.waits && (slot === "length" || key.startsWith("e"))) return;  // its length is known
  undone = [];
  card.started = true;
  if (key === "back") {
    if (slot === "length" && card.eighths) card.eighths = 0; else card[slot] = card[slot].slice(0, -1);
  } else if (key.startsWith("e")) {  // a fraction ends the length: where fish are weighed, digits go to the weight next
    const n = Number(key.slice(1));
    card.eighths = n === 1 ? (card.eighths + 1) % 8 : n;
    if (slot === "length" && weighed() !== false && n !== 1) slot = pounds ? "lb" : "w";
  } else if (key === ".") {
    if (!card[slot].includes(".")) card[slot] += card[slot] ? "." : "0.";
  } else if (card[slot].length < 6) card[slot] += key;
  changed();
}
async function takeVial(text) {
  const code = text.trim().toUpperCase().replace(/\s/g, "");
  if (card.vial && card.vial !== code) {
    // the next fish has begun: where the vial comes first, or may, a second scan closes a fish that is measured
    if (lengthText() && !(shown && shown.order.first === "length")) { close(); }
    else {
      const has = lengthText() ? "waits for its weight" : "has no length yet";
      const answer = await question(`This fish has vial ${card.vial} and ${has}. Take ${code} instead?`, ["Take the new one", "Keep the first"]);
      if (answer !== "Take the new one") return;
    }
  }
  card.started = true;
  card.vial = code;
  undone = [];
  if (card.second || card.waits) { close(); return; }
  // a scan completes a measured fish; digits never do, for another may follow
  if (lengthText() && (!weighed() || weightText())) close(); else changed();
}
let telling;
function changed() {
  keepCard(); draw();
  clearTimeout(telling);
  telling = setTimeout(() => ask("/open", {words: words()}).catch(() => {}), 400);
}
function words() { return [lengthText() && lengthText() + " " + unit, weightText(), card.vial].filter(Boolean).join(", "); }
function close(more = {}) {
  const body = card.waits
    ? {id: card.waits.id, weight: weightText(), [card.second ? "second" : "vial"]: card.vial}
    : {id: card.id, length: lengthText() ? `${lengthText()} ${unit}` : "", weight: weightText(), vial: card.vial, ...more};
  Object.assign(body, next());
  const done = {key: newId(), body, adds: card.waits && {fish: card.waits.fish, vial: card.vial, weight: weightText()}};
  stored.push(done);
  const closed = {...card};
  card = emptyCard(); slot = "length";
  clearTimeout(telling);
  keepCard();
  send("/fish", body, {card: closed, undoes: done.key});
  draw();
}

// --- what is on the screen ---
function banner(its) {
  if (writes !== "yes") return "This device only looks";
  if (card.second) return `Second vial of fish ${card.waits.fish}: scan it`;
  if (card.waits) return `Fish ${card.waits.fish}: scan its vial, or weigh it`;
  if (!card.waits && lengthNumber() > longest) return `${lengthText()} ${unit} cannot be: measure again`;
  if (its && its.short_by) return `SWAB: ${its.size_class}, ${covered(its)} of ${its.target}${failed(its)}`;
  if (its && its.short_by === 0) return `NO SWAB NEEDED: ${its.size_class} has ${covered(its)} of ${its.target}`;
  if (its) return `${its.size_class}: ${its.n_swabbed} swabbed, no target`;
  return card.vial ? "Vial taken. Measure its fish" : "Measure the fish";
}
function draw() {
  $("s-length").textContent = lengthText() ? lengthText() + " " + unit : "–";
  for (const name of ["lb", "oz", "w"]) if ($("s-" + name)) $("s-" + name).textContent = card[name] || "–";
  $("s-vial").textContent = card.vial || "–";
  for (const one of document.querySelectorAll("[data-slot]")) one.setAttribute("aria-pressed", String(one.dataset.slot === slot));
  const its = card.waits ? null : classOf(lengthNumber());
  document.body.classList.toggle("swab", Boolean(its && its.short_by));
  document.body.classList.toggle("none", Boolean(its && its.short_by === 0));
  put("banner", banner(its));
  $("measured").textContent = card.vial || card.waits ? "Store fish" : "No swab, release";
  $("to-well").disabled = Boolean(card.vial || card.waits);
  put("held", `${queue.length} held, ${refused.length} refused${linked ? "" : ", no link"}`);
  const holds = Object.values(next()).filter(one => one !== "mouth_swab").join(", ").replace("_", " ");
  put("next", [$("fish").hidden && words(), holds].filter(Boolean).join(" · "));  // the fish's numbers stay in sight
  put("link", linked ? "The server answers." : "The server cannot be reached. What you enter is kept on this device and sent in order when it is back.");
  put("reload", reloads ? "This page comes back after a reload, even without the server." : "Do not reload or close this page while the server cannot be reached: what you entered stays kept here, but the page would not come back before the server does.");
  list("refused", refused, (one, at) => {
    const item = document.createElement("li");
    const fish = one.body.size_class || one.body.length || (one.body.fish ? "fish " + one.body.fish : "");
    item.textContent = `${fish} ${one.body.vial || ""}: ${one.why} `;
    if (one.card) item.append(key("Put on the card", () => { if (!card.started) { letGo(one); card = {...one.card, id: newId(), started: true}; refused.splice(at, 1); keepCard(); view("fish"); } else say("Store or clear the fish on the card first.", true); }));
    item.append(key("Let go", async () => {
      if (await question("Discard this entry? It has not been saved.", ["Let it go", "Keep it"]) === "Let it go") { letGo(one); refused.splice(refused.indexOf(one), 1); draw(); }
    }));
    return item;
  });
  if (shown) drawShown();
}
function drawShown() {
  put("crew", `${shown.person}, ${shown.device}${shown.writes ? "" : ", looking only"}`);
  put("order", "Order of work: " + {vial: "vial first", length: "measure first"}[shown.order.first] + (shown.order.weighed ? ", weighed" : ""));
  if (!shown.order.first) put("order", "Order of work: as it comes");
  put("others", shown.others.map(one => `${one.person} (${one.device}): ${one.words}`).join(" · "));
  const used = new Set(queue.flatMap(one => [one.body.vial, one.body.second]).filter(Boolean));
  const wanted = $("four").value.toUpperCase().replace(/\s/g, "");
  list("free", shown.free.filter(code => code.endsWith(wanted) || code.slice(-4).includes(wanted)).filter(code => !used.has(code)).slice(0, 16), code => key(code.slice(-4), () => { view("fish"); takeVial(code); }, `${code.slice(-4)}, vial ${code}`));
  list("classes", shown.classes, tallyTile);
  list("waiting", inTheWell(), wellTile);
  list("ten", shown.last, lastTile);
}
function inTheWell() {  // what the server knows, and what is still held here
  const last = new Map(queue.filter(one => one.path === "/fish").map(one => [one.body.id, one.body]));
  const here = [...last.values()].filter(one => one.length && !one.vial && !one.fate).map(one => ({id: one.id, fish: "held here", words: [one.length, one.weight].filter(Boolean).join(", ")}));
  return [...shown.well.filter(one => !last.has(one.id)), ...here];
}
function tallyTile(one) {
  const found = document.createElement("button");
  found.className = "tile" + (one.short_by ? " short" : "");
  fill(found, `${one.label}: ${covered(one)}${one.target === null ? "" : " of " + one.target}`, `${one.n_caught} caught${failed(one)}${one.short_by ? `, ${one.short_by} short` : ""}`);
  found.disabled = writes !== "yes";
  longPress(found, async () => {
    const n = await question(`How many ${one.size_class} fish, measured only?`, ["1", "2", "3", "4", "5", "10", "Back"]);
    if (!n || n === "Back") return;
    const done = {key: newId(), body: {id: newId(), size_class: one.size_class, n_fish: Number(n), fate: "released", ...next()}};
    stored.push(done); keepCard();
    send("/fish", done.body, {undoes: done.key});
  });
  return found;
}
function wellTile(one) {
  const its = shown.classes.find(c => c.size_class === one.size_class);
  const found = document.createElement("div");
  found.className = "tile" + (its && its.short_by ? " short" : "");
  fill(found, one.words, its && its.short_by ? `its size is still ${its.short_by} short` : "its size needs no swab");
  found.append(keys(key("Vial or weight", () => add(one, false), `Vial or weight of fish ${one.fish}`), key("Release", async () => {
    if (its && its.short_by && await question(`${its.size_class} is still short by ${its.short_by}. Release this fish without a swab?`, ["Keep it", "Release it"]) !== "Release it") return;
    send("/fish", {id: one.id, fate: "released"}); draw();
  }, `Release fish ${one.fish}`)));
  return found;
}
function lastTile(one) {
  const found = document.createElement("div");
  found.className = "tile";
  fill(found, one.words, one.swabbed ? "" : "no vial");
  const deeds = [key("Correct", () => correct(one), `Correct fish ${one.fish}`)];
  if (one.id && one.vials.length === 1) deeds.push(key("Second vial", () => add(one, true), `Second vial of fish ${one.fish}`));
  if (one.id && !one.vials.length && one.n_fish === 1) deeds.push(key("Vial or weight", () => add(one, false), `Vial or weight of fish ${one.fish}`));
  if (writes === "yes") found.append(keys(...deeds));
  return found;
}
function add(one, second) {
  if (card.started) { say("Store or clear the fish on the card first.", true); return; }
  card = {...emptyCard(), started: true, waits: {id: one.id, fish: one.fish}, second};
  slot = second ? "length" : pounds ? "lb" : "w";
  view("fish");
}
function put(id, text) { if ($(id).textContent !== text) $(id).textContent = text; }
const drawn = {};
function list(id, items, make) {  // drawn anew only when it changed, so that a finger or the focus is not lost
  const now = JSON.stringify([items, shown && shown.classes]);
  if (drawn[id] === now) return;
  drawn[id] = now;
  $(id).replaceChildren(...items.map(make));
}
function key(text, deed, whole) {
  const found = document.createElement("button");
  found.className = "k"; found.textContent = text; found.addEventListener("click", deed);
  if (whole) found.setAttribute("aria-label", whole);
  return found;
}
function keys(...some) {
  const found = document.createElement("div");
  found.className = "grid";
  found.append(...some);
  return found;
}
function fill(tile, text, more) {
  for (const one of [text, more]) {
    const line = document.createElement("p");
    line.textContent = one;
    tile.append(line);
  }
}
function longPress(found, deed) {
  let held, long = false;
  const end = () => clearTimeout(held);
  found.addEventListener("pointerdown", () => { long = false; held = setTimeout(() => { long = true; deed(); }, 550); });
  for (const one of ["pointerup", "pointerleave", "pointercancel"]) found.addEventListener(one, end);
  found.addEventListener("contextmenu", event => event.preventDefault());
  found.addEventListener("click", event => {
    if (event.detail === 0) deed();  // by keyboard
    else if (!long) say("Press longer to add fish that were only measured.", false);
  });
}
function view(name) {
  if (name !== "camera") cameraOff();
  for (const one of ["fish", "well", "tally", "last", "picker", "trip", "camera"]) $(one).hidden = one !== name;
  for (const one of document.querySelectorAll("nav .k")) if (one.dataset.view === name) one.setAttribute("aria-current", "page"); else one.removeAttribute("aria-current");
  $("trip-key").setAttribute("aria-pressed", String(name === "trip"));
  draw();
}
let quiet;
function say(text, bad) {
  $("said").textContent = text; $("said").classList.toggle("bad", bad);
  clearTimeout(quiet);
  quiet = setTimeout(() => { $("said").textContent = ""; }, bad ? 20000 : 4000);
}
let asking = Promise.resolve();
function question(text, answers, fields = []) {  // one at a time; Esc answers nothing; the first has the focus
  const asked = asking.then(() => new Promise(resolve => {
    $("ask-text").textContent = text;
    const done = answer => { $("ask").oncancel = null; if ($("ask").open) $("ask").close(); resolve(answer); };
    $("ask-fields").replaceChildren(...fields);
    $("ask-keys").replaceChildren(...answers.map(answer => key(answer, () => done(answer))));
    $("ask").oncancel = () => done(null);
    $("ask").showModal();
  }));
  asking = asked.catch(() => {});
  return asked;
}
function field(label, value) {
  const found = document.createElement("label"), input = document.createElement("input");
  input.value = value || ""; input.autocomplete = "off";
  found.append(label, input);
  found.input = input;
  return found;
}
async function correct(one) {
  const length = field(`Length, ${unit}`, one.length), weight = field(`Weight, ${weightUnit}`, one.weight), vial = field("Vial", one.vials[0]);
  const typed = field("Another reason, typed");
  const reasons = [...$("reasons").content.children].map(found => found.textContent);
  const answer = await question(`Correct fish ${one.fish}, then say why:`, [...reasons, "The typed reason", "Leave it"], [length, weight, vial, typed]);
  if (!answer || answer === "Leave it") return;
  const why = answer === "The typed reason" ? typed.input.value.trim() : answer;
  const body = {fish: one.fish, why};
  if (length.input.value.trim() !== (one.length || "")) body.length = length.input.value.trim();
  if (weight.input.value.trim() !== (one.weight || "")) body.weight = weight.input.value.trim();
  const code = vial.input.value.trim();
  if (code !== (one.vials[0] || "")) Object.assign(body, code ? {vial: code} : {take: one.vials[0]});
  if (!why) { say("Nothing was changed: say why.", true); return; }
  if (Object.keys(body).length === 2) { say("Nothing was changed: enter a new value first.", true); return; }
  send("/correct", body);
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

// --- a photo, or what the camera sees; both are decoded by the server, so that they need nothing of the browser ---
async function decode(picture) {
  const form = new FormData();
  form.append("photo", picture, "label.jpg");
  const answer = await fetch("/photo", {method: "POST", body: form, headers: {accept: "application/json"}});
  return {ok: answer.ok, said: await answer.json()};
}
let stream = null;
function cameraOff() {
  if (stream) for (const track of stream.getTracks()) track.stop();
  stream = null;
}
async function cameraOn() {
  view("camera");
  try { stream = await navigator.mediaDevices.getUserMedia({video: {facingMode: "environment", width: {ideal: 1920}, height: {ideal: 1080}}}); }
  catch { view("fish"); say("The camera cannot be used; take a photo of the label, or pick the vial.", true); $("photo-key").hidden = false; return; }
  const mine = stream, video = $("seen");
  video.srcObject = mine;
  await video.play();
  const formats = window.BarcodeDetector ? await BarcodeDetector.getSupportedFormats().catch(() => []) : [];
  const reader = formats.includes("qr_code") ? new BarcodeDetector({formats: ["qr_code"]}) : null;
  const frame = document.createElement("canvas");
  while (stream === mine) {
    const code = await lookOnce(video, reader, frame);
    if (stream !== mine) return;
    if (code) { view("fish"); await takeVial(code); return; }
    await new Promise(done => setTimeout(done, 150));
  }
}
async function lookOnce(video, reader, frame) {
  if (reader) {
    const seen = new Set((await reader.detect(video).catch(() => [])).map(one => one.rawValue));
    if (!seen.size) return null;
    if (seen.size === 1 && /^[0-9A-Z]{9}$/.test([...seen][0])) return [...seen][0];
  }
  frame.width = video.videoWidth; frame.height = video.videoHeight;
  frame.getContext("2d").drawImage(video, 0, 0);
  const picture = await new Promise(done => frame.toBlob(done, "image/jpeg", 0.85));
  try {
    const {ok, said} = await decode(picture);
    if (ok) return said.vial;
    if (said.seen) { tone(false); view("fish"); say(said.fault, true); }
  } catch { view("fish"); say("The server cannot be reached, so nothing can be read: pick the vial by its last characters.", true); }
  return null;
}
for (const name of ["photo", "picture"]) $(name).addEventListener("change", async () => {
  const file = $(name).files[0];
  $(name).value = "";
  if (!file) return;
  view("fish");
  say("Reading the label …", false);
  try {
    const {ok, said} = await decode(file);
    if (!ok) { tone(false); say(said.fault, true); return; }
    say("Vial " + said.printed, false);
    await takeVial(said.vial);
  } catch { tone(false); say("The server cannot be reached, so the photo cannot be read: pick the vial by its last characters.", true); }
});

// --- what holds for the next fish: sample, medium and site are kept on this device ---
const NEXT = ["tissue", "medium", "site"];
function next() {
  return Object.fromEntries(NEXT.map(name => [name, $(name).value.trim()]).filter(([, value]) => value));
}
for (const name of NEXT) {
  try { $(name).value = localStorage.getItem(`geneticlog ${survey} ${name}`) || $(name).value; } catch {}
  $(name).addEventListener("change", () => { try { localStorage.setItem(`geneticlog ${survey} ${name}`, $(name).value.trim()); } catch {} draw(); });
}

// --- keys and the scanner ---
const FRACTIONS = [["¼", "e2", "a quarter"], ["½", "e4", "a half"], ["¾", "e6", "three quarters"], ["+⅛", "e1", "an eighth more"]];
[["7", "8", "9"], ["4", "5", "6"], ["1", "2", "3"], ["⌫", "0", "."]].forEach((row, at) => {
  for (const one of row) $("pad").append(key(one, () => press(one === "⌫" ? "back" : one), {"⌫": "delete", ".": "point"}[one]));
  if (inches) $("pad").append(key(FRACTIONS[at][0], () => press(FRACTIONS[at][1]), FRACTIONS[at][2]));
});
if (!inches) $("pad").classList.add("three");
for (const one of document.querySelectorAll("[data-slot]")) one.addEventListener("click", () => { slot = one.dataset.slot; draw(); });
for (const one of document.querySelectorAll("nav .k")) one.addEventListener("click", () => view(one.dataset.view));
$("trip-key").addEventListener("click", () => view($("trip").hidden ? "trip" : writes === "yes" ? "fish" : "tally"));
$("pick").addEventListener("click", () => { $("four").value = ""; view("picker"); $("four").focus(); });
$("four").addEventListener("input", draw);
$("clear").addEventListener("click", () => { card = emptyCard(); slot = "length"; undone = []; changed(); });
$("camera-key").addEventListener("click", cameraOn);
$("camera-off").addEventListener("click", () => view("fish"));
$("measured").addEventListener("click", async () => {
  if (card.waits) { if (card.vial || weightText()) close(); else say("Scan its vial or weigh it first.", true); return; }
  if (!lengthText()) { say("Measure the fish first.", true); return; }
  if (card.vial) { close(); return; }
  const its = classOf(lengthNumber());
  if (its && its.short_by && await question(`${its.size_class} is still short by ${its.short_by}. Release this fish without a swab?`, ["Back", "Release it"]) !== "Release it") return;
  close({fate: "released"});
});
$("to-well").addEventListener("click", () => {
  if (!lengthText()) { say("Measure the fish first.", true); return; }
  close();
});
$("undo").addEventListener("click", () => {
  const last = stored.pop();
  if (!last) { say("Nothing was logged on this device that could be undone.", true); return; }
  undone.push(last); keepCard();
  if (last.adds) send("/correct", {fish: last.adds.fish, why: "undo", ...(last.adds.vial && {take: last.adds.vial}), ...(last.adds.weight && {weight: ""})});
  else send("/undo", {id: last.body.id});
});
$("redo").addEventListener("click", () => {
  const last = undone.pop();
  if (!last) { say("There is nothing to redo.", true); return; }
  stored.push(last); keepCard();
  send("/fish", {...last.body, again: true});
});
// A scanner types fast, a person one key at a time. A code begins with letters, which nobody types here: a slow scanner
// is waited for, half a code is never taken for digits, and what comes of it late is let go.
const CODE = 9, SLOW = 1500, QUICK = 80;  // characters of a code; milliseconds
let typed = "", typing, deaf = 0;
function scanned(text) {
  typed = "";
  clearTimeout(typing);
  takeVial(text);
}
addEventListener("keydown", event => {
  if (event.target.matches && event.target.matches("input:not([type=file]), select") || $("ask").open || event.ctrlKey || event.metaKey || event.altKey || writes !== "yes") return;
  if (event.key === "Enter" || event.key === "Tab") {
    if (typed.length >= CODE - 2) { event.preventDefault(); scanned(typed); }
    return;
  }
  if (event.key === "Backspace" && !typed) { press("back"); return; }
  if (event.key.length !== 1) return;
  if (event.key === " " && typed) event.preventDefault();  // else a code with spaces would press the key in focus
  if (Date.now() < deaf) { deaf = Date.now() + SLOW; return; }
  typed += event.key;
  clearTimeout(typing);
  const code = /[a-z]/i.test(typed[0]), whole = typed.replace(/\s/g, "").length >= CODE;
  typing = setTimeout(() => {
    const text = typed;
    typed = "";
    if (whole) scanned(text);
    else if (code) { deaf = Date.now() + SLOW; tone(false); say(`Only "${text}" of a code came: scan it again.`, true); }
    else for (const one of text) if (/[0-9.]/.test(one)) press(one);
  }, code && !whole ? SLOW : QUICK);
});

async function comesBack() {  // a secure origin only adds: the page comes back without the server, the screen stays on
  if (!isSecureContext) return;
  if (writes === "yes" && navigator.mediaDevices && navigator.mediaDevices.getUserMedia) { $("camera-key").hidden = false; $("photo-key").hidden = true; }
  try { await navigator.storage.persist(); } catch {}
  try { await navigator.wakeLock.request("screen"); } catch {}
  try {
    await navigator.serviceWorker.register("/boat-worker.js", {scope: "/boat/"});
    await navigator.serviceWorker.ready;
    await (await caches.open("boat-shell")).add(location.pathname);
    reloads = true;
  } catch { reloads = Boolean(navigator.serviceWorker && navigator.serviceWorker.controller); }
  draw();
}

(async () => {
  await remember();
  try { shown = JSON.parse(localStorage.getItem("geneticlog " + survey)); } catch {}
  if (writes !== "yes") { for (const one of document.querySelectorAll("#fish .k, #last > .grid, #tally > p, [data-view=fish]")) one.hidden = true; view("tally"); }
  draw();
  await refresh();
  comesBack();
  handOver();
  setInterval(async () => { if (queue.length) await handOver(); if (!document.hidden && !sending) await refresh(); }, 3000);
})();
