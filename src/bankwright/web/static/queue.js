/* Entries beside the rack. Each gets an id here, is kept on this device, and is sent until the server says that it is stored:
   a lost link loses nothing, and nothing is stored twice. Steps ahead are fetched early, so that the work can go on. */
(function () {
  "use strict";
  var KEPT = "bankwright.queue." + location.host, lost = null, at = location.pathname, sending = false, pages = {}, wanted = null, going = null;
  var held = null, moves = 0; /* what this device would not keep; how often an entry was made or answered */
  function read() { if (held) { return held; } try { return JSON.parse(localStorage.getItem(KEPT)) || []; } catch (e) { return []; } }
  function write(list) { try { localStorage.setItem(KEPT, JSON.stringify(list)); held = null; } catch (e) { held = list; } }
  function newId() { return Array.from(crypto.getRandomValues(new Uint8Array(8)), function (b) { return b.toString(16).padStart(2, "0"); }).join(""); }
  function kept(name) { try { return localStorage.getItem("bankwright." + name) || ""; } catch (e) { return ""; } }
  function clock(at) { return new Date(at).toTimeString().slice(0, 5); }
  function put(entry) {
    entry.id = newId(); entry.at_ms = Date.now(); entry.who = kept("who").slice(0, 60);
    var list = read(); list.push(entry); moves += 1;
    write(list);
    send();
    return entry.id;
  }

  /* --- sending */
  function send() {
    var list = read().filter(function (e) { return !e.refused; });
    if (sending || !list.length) { show(); return; }
    sending = true;
    var batch = list.slice(0, 50).map(function (e) {
      var copy = Object.assign({}, e, {age: Math.max(0, (Date.now() - e.at_ms) / 1000)});
      delete copy.at_ms; delete copy.refused; delete copy.label;
      return copy;
    });
    var stop = new AbortController(), timer = setTimeout(function () { stop.abort(); }, 6000);
    fetch("/api/entries", {method: "POST", signal: stop.signal, headers: {"content-type": "application/json", "x-bankwright": "1"}, body: JSON.stringify({entries: batch})})
      .then(function (answer) { if (!answer.ok) { throw new Error(String(answer.status)); } return answer.json(); })
      .then(function (body) { link(true); body.results.forEach(settle); })
      .catch(function () { link(false); })
      .finally(function () { clearTimeout(timer); sending = false; show(); if (!lost && read().some(function (e) { return !e.refused; })) { send(); } });
  }
  /* what an answer, or none, says of the link; the steps ahead are fetched on where they stopped */
  function link(there) {
    var was = lost;
    lost = there ? null : lost || Date.now();
    document.dispatchEvent(new CustomEvent("bankwright:link", {detail: {lost: !there}}));
    if (was && there) { ahead(); }
  }
  function settle(result) {
    var list = read(), mine = list.find(function (e) { return e.id === result.id; });
    if (!mine) { return; }
    moves += 1;
    if (result.faults.length) {
      mine.refused = result.faults.map(function (f) { return [f.found, f.expected, f.hint].filter(Boolean).join(". "); }).join(" ");
      write(list);
      undo(mine);
    } else {
      write(list.filter(function (e) { return e.id !== result.id; }));
      if (mine.kind === "reading") { said(mine, "Read: " + mine.text + ", " + clock(mine.at_ms) + ". " + (result.warning || ""), Boolean(result.warning)); }
    }
  }
  function say(words, button) { /* what stands there already is left alone: a hand may be on its button */
    var strip = document.getElementById("waiting");
    if (!strip || strip.dataset.words === words) { return; }
    strip.dataset.words = words; strip.hidden = !words; strip.textContent = words;
    if (button) { strip.append(" ", button); }
  }
  function show() {
    var list = read(), waiting = list.filter(function (e) { return !e.refused; }), refused = list.filter(function (e) { return e.refused; });
    if (!document.getElementById("waiting")) { return; }
    var later = wanted ? " The step you asked for is not on this device: it is opened when the link is back." : "";
    var only = held && waiting.length ? "This device keeps nothing for later: wait for the link before you go on." : "";
    if (lost && waiting.length) {
      say("No link to the bench computer since " + clock(lost) + ". " + waiting.length + (waiting.length === 1 ? " entry waits" : " entries wait") + " on this device and " + (waiting.length === 1 ? "is" : "are") + " sent once, when it is back. " + (only || "Go on working.") + later);
    } else if (lost) { say("No link to the bench computer since " + clock(lost) + ". Nothing waits here; go on working." + later); }
    else if (refused.length) {
      var drop = document.createElement("button");
      drop.type = "button"; drop.className = "btn"; drop.textContent = "Understood";
      drop.addEventListener("click", function () { write(read().filter(function (e) { return !e.refused; })); show(); });
      say("Not stored: " + refused.map(function (e) { return (e.label || e.kind) + ": " + e.refused; }).join(" "), drop);
    } else { say(only); }
    foot(); resume();
  }

  /* --- the step on the screen */
  function work() { return document.querySelector(".work[data-step]"); }
  function step() { return work() ? work().dataset.step : null; }
  function boxes() { return Array.from(document.querySelectorAll(".work .tick input")); }
  function readings() { return Array.from(document.querySelectorAll(".work .reading")); }
  function undo(entry) {
    if (entry.kind === "tick" && entry.step === step()) { boxes().forEach(function (b) { if (b.value === entry.box) { b.checked = !entry.done; } }); }
    if (entry.kind === "reading") { said(entry, "Not stored: " + entry.refused, true); }
  }
  function said(entry, words, bad) {
    readings().forEach(function (part) {
      if (part.dataset.at !== entry.at || part.dataset.quantity !== entry.quantity || entry.step !== step()) { return; }
      part.querySelector(".says").textContent = words;
      delete part.dataset.read; delete part.dataset.outside;
      if (bad) { part.dataset.outside = "yes"; } else { part.dataset.read = "yes"; }
      part.querySelector("input").classList.toggle("bad", Boolean(bad));
    });
    foot();
  }
  function missing() { /* in the order of the screen */
    var gap = Array.from(document.querySelectorAll(".work .tick input, .work .reading")).find(function (p) { return p.matches("input") ? !p.checked : !p.dataset.read; });
    if (!gap) { return null; }
    if (gap.matches("input")) { return {at: gap, words: gap.dataset.words + ": not ticked yet"}; }
    return {at: gap.querySelector("input"), words: gap.dataset.words + (gap.dataset.outside ? ": not as expected" : ": not read yet")};
  }
  function foot() {
    var next = document.querySelector(".work [data-next]"), gap = missing();
    if (!next) { return; }
    document.querySelectorAll(".work .tick, .work .reading").forEach(function (part) { part.classList.toggle("due", Boolean(gap) && part.contains(gap.at)); });
    next.classList.toggle("wait", Boolean(gap)); next.classList.toggle("main", !gap);
    next.textContent = gap ? gap.words : "Next step";
  }
  function pending() {
    read().forEach(function (e) {
      if (e.refused || e.step !== step()) { return; }
      if (e.kind === "tick") { boxes().forEach(function (b) { if (b.value === e.box) { b.checked = e.done; } }); }
      if (e.kind === "reading") { said(e, "Read: " + e.text + ", " + clock(e.at_ms) + ", waits on this device"); }
    });
    document.querySelectorAll("[data-keep]").forEach(function (f) { f.value = kept(f.dataset.keep); });
    foot();
  }
  /* a bare number is in the unit shown; what can be repaired is offered as a button, never taken silently */
  function repaired(text, unit) {
    var plain = text.replace(/\s/g, ""), tail = plain.toLowerCase().slice(-unit.replace(/\s/g, "").length);
    if (tail === unit.replace(/\s/g, "").toLowerCase() && !/[0-9]/.test(tail)) { plain = plain.slice(0, -tail.length); }
    plain = plain.replace(/[oO]/g, "0").replace(",", ".");
    return /^[-+]?\d+(\.\d+)?$/.test(plain) ? plain + " " + unit : null;
  }
  function offer(part, text, right) {
    var row = part.querySelector(".repairs"), said = document.createElement("span"), yes = document.createElement("button"), no = document.createElement("button");
    said.textContent = "You typed " + text + "."; yes.type = no.type = "button"; yes.className = "btn main"; no.className = "btn";
    yes.textContent = right + "?"; no.textContent = "No, I type it again";
    function done(value) { row.hidden = true; row.replaceChildren(); part.querySelector("input").value = value; if (value) { store(part); } else { part.querySelector("input").focus(); } }
    yes.addEventListener("click", function () { done(right); }); no.addEventListener("click", function () { done(""); });
    row.replaceChildren(said, yes, no); row.hidden = false; yes.focus();
  }
  function store(part) {
    var input = part.querySelector("input"), text = input.value.trim(), unit = part.dataset.unit, right = repaired(text, unit);
    if (!text) { input.focus(); return; }
    if (/^[-+]?\d+(\.\d+)?$/.test(text)) { text += " " + unit; } else if (right && right !== text) { offer(part, text, right); return; }
    var entry = {kind: "reading", step: step(), at: part.dataset.at, quantity: part.dataset.quantity, text: text.slice(0, 80), label: part.dataset.words};
    if (kept("meter")) { entry.meter = kept("meter"); }
    put(entry);
    said(entry, "Read: " + text + ", " + clock(Date.now()) + ", being stored");
    input.value = "";
  }
  document.addEventListener("change", function (event) {
    var box = event.target.closest(".work .tick input");
    if (box) { put({kind: "tick", step: step(), box: box.value, done: box.checked, label: box.dataset.words}); foot(); return; }
    if (event.target.dataset.keep) { try { localStorage.setItem("bankwright." + event.target.dataset.keep, event.target.value); } catch (e) { /* not kept */ } return; }
    if (event.target.id === "photo" && event.target.files.length) { photo(event.target); }
  });
  document.addEventListener("submit", function (event) {
    if (!event.target.closest(".stepform")) { return; }
    event.preventDefault();
    var part = document.activeElement && document.activeElement.closest(".reading");
    part = event.submitter && event.submitter.closest(".reading") || part;
    if (part) { store(part); }
  });
  function photo(input) {
    var body = new FormData(), place = document.getElementById("photosaid"), id = newId();
    body.append("photo", input.files[0]); body.append("id", id); body.append("step", step()); body.append("who", kept("who"));
    place.textContent = "Being sent";
    fetch("/api/photo", {method: "POST", headers: {"x-bankwright": "1"}, body: body})
      .then(function (a) { return a.json(); })
      .then(function (b) { place.textContent = b.faults && b.faults.length ? b.faults[0].found + ". " + b.faults[0].expected : "Kept, entry " + b.number + "."; input.value = ""; })
      .catch(function () { place.textContent = "No link: the photo was not sent. Send it again when the link is back."; });
  }

  /* --- going on without the link: the steps ahead are here already */
  function fetchPage(href, wait) {
    var stop = new AbortController(), timer = setTimeout(function () { stop.abort(); }, wait);
    return fetch(href, {signal: stop.signal, headers: {accept: "text/html"}}).then(function (a) { if (!a.ok) { throw Object.assign(new Error(String(a.status)), {answered: true}); } return a.text(); })
      .finally(function () { clearTimeout(timer); });
  }
  function ahead() {
    var here = work();
    if (!here || !here.dataset.ahead) { return; }
    here.dataset.ahead.split(" ").concat([location.pathname]).reduce(function (before, href) {
      return before.then(function () { return pages[href] ? null : fetchPage(href, 8000).then(function (text) { pages[href] = text; }); });
    }, Promise.resolve()).catch(function (error) { if (!error.answered) { link(false); show(); } });
  }
  function swap(text, href, push) {
    var made = new DOMParser().parseFromString(text, "text/html"), main = made.getElementById("main"), old = document.getElementById("main");
    old.className = main.className; old.replaceChildren.apply(old, Array.from(main.childNodes));
    route(made);
    document.title = made.title; document.body.dataset.digest = made.body.dataset.digest;
    if (push) { history.pushState({step: href}, "", href); }
    at = location.pathname;
    window.scrollTo(0, 0); old.focus({preventScroll: true});
    pending(); show(); ahead();
  }
  function route(made) { document.dispatchEvent(new CustomEvent("bankwright:route", {detail: made.getElementById("route")})); }
  /* the newest wish counts: what an older one brings is kept, not shown; tapped twice is asked once */
  function go(href, push) {
    if (going && going.href === href && going.push === push) { return; }
    var mine = going = {href: href, push: push};
    wanted = null;
    fetchPage(href, 4000).then(function (text) {
      link(true); pages[href] = text;
      if (mine === going) { going = null; if (/ data-step="/.test(text)) { swap(text, href, push); } else { location.assign(href); } }
      send();
    }).catch(function (error) {
      if (error.answered) { if (mine === going) { going = null; location.assign(href); } return; }
      link(false);
      if (mine !== going) { show(); return; }
      going = null;
      if (pages[href]) { swap(pages[href], href, push); return; }
      if (!push) { history.pushState({step: at}, "", at); }
      wanted = {href: href, from: at};
      show();
    });
  }
  /* a step that could not be opened is opened once the link is back, if the hand is still where it asked */
  function resume() {
    if (lost || !wanted) { return; }
    var asked = wanted; wanted = null;
    if (work() && asked.from === location.pathname) { go(asked.href, true); }
  }
  document.addEventListener("click", function (event) {
    if (event.target.closest("[data-note]")) {
      var note = document.getElementById("note");
      if (note.value.trim()) { put({kind: "note", step: step(), text: note.value.trim().slice(0, 2000), label: "note"}); note.value = ""; }
      return;
    }
    var link = event.target.closest(".work [data-go]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    var gap = link.matches("[data-next]") ? missing() : null;
    event.preventDefault();
    if (gap) { gap.at.scrollIntoView({block: "center"}); gap.at.focus({preventScroll: true}); return; }
    var href = link.getAttribute("href");
    if (href.indexOf("/build/step/") === 0) { go(href, true); } else { document.dispatchEvent(new CustomEvent("bankwright:go", {detail: {href: href, words: link.textContent}})); }
  });
  window.addEventListener("popstate", function () { /* Fire only changes the part after the # */
    if (work() && location.pathname !== at) { go(location.pathname, false); } else if (going && !going.push) { going = null; }
  });

  /* --- two people, two devices: what the other ticked appears here */
  var soon = null, missed = false;
  function again() { clearTimeout(soon); soon = setTimeout(heard, 300); }
  document.addEventListener("bankwright:log", again);
  function heard() {
    if (!work()) { return; }
    var here = location.pathname, shown = work(), before = moves;
    missed = false;
    fetchPage(here, 4000).then(function (text) {
      pages[here] = text;
      /* older than what this hand did meanwhile, or of a step that is left: asked anew */
      if (going || shown !== work() || before !== moves) { again(); return; }
      var made = new DOMParser().parseFromString(text, "text/html");
      boxes().forEach(function (box) { var other = Array.from(made.querySelectorAll(".work .tick input")).find(function (b) { return b.value === box.value; }); if (other) { box.checked = other.hasAttribute("checked"); } });
      readings().forEach(function (part) {
        var other = Array.from(made.querySelectorAll(".work .reading")).find(function (r) { return r.dataset.at === part.dataset.at && r.dataset.quantity === part.dataset.quantity; });
        if (other && other.dataset.read && !part.dataset.read) { part.dataset.read = "yes"; part.querySelector(".says").textContent = other.querySelector(".says").textContent; }
      });
      route(made);
      pending(); ahead();
    }).catch(function (error) { missed = !error.answered; });
  }

  /* a box that was ticked before this script ran counts too */
  function early() {
    boxes().forEach(function (b) { if (b.checked !== b.defaultChecked) { put({kind: "tick", step: step(), box: b.value, done: b.checked, label: b.dataset.words}); } });
  }
  early(); /* at once: from here on each tick is heard */
  document.addEventListener("DOMContentLoaded", function () { pending(); send(); ahead(); });
  window.addEventListener("online", send);
  setInterval(function () {
    if (missed) { heard(); }
    if (read().some(function (e) { return !e.refused; })) { send(); } else if (lost) { fetch("/static/icon.svg", {cache: "no-store"}).then(function () { link(true); show(); }).catch(function () { /* still lost */ }); }
  }, 4000);
}());
