// The card on the phone: ticks that stay, a timer for each point, calls read aloud, and a code that brings the ticks back.
// Everything works without it but these; nothing leaves the phone.
(function () {
  "use strict";
  var card = document.querySelector("[data-card]");
  if (!card) return;
  var mark = parseInt(card.getAttribute("data-card"), 16);
  var key = "card-" + card.getAttribute("data-card");
  var boxes = Array.prototype.slice.call(document.querySelectorAll("input[type=checkbox]"));
  var points = boxes.filter(function (box) { return box.hasAttribute("data-point"); });
  var store = null;
  try { store = window.localStorage; store.getItem(key); } catch (e) { store = null; }

  function save() {
    if (!store) return;
    try { store.setItem(key, boxes.map(function (b) { return b.checked ? "1" : "0"; }).join("")); } catch (e) { store = null; }
  }
  function load() {
    var kept = store && store.getItem(key);
    if (!kept || kept.length !== boxes.length) return;
    boxes.forEach(function (box, i) { box.checked = kept.charAt(i) === "1"; });
  }

  function crc8(bytes) {
    return bytes.reduce(function (crc, byte) {
      crc ^= byte;
      for (var i = 0; i < 8; i++) crc = crc & 0x80 ? ((crc << 1) ^ 0x07) & 0xff : (crc << 1) & 0xff;
      return crc;
    }, 0);
  }
  function code() {
    var bytes = [mark >> 8, mark & 0xff];
    for (var i = 0; i < points.length; i += 8) {
      var byte = 0;
      points.slice(i, i + 8).forEach(function (box, bit) { if (box.checked) byte |= 1 << bit; });
      bytes.push(byte);
    }
    bytes.push(crc8(bytes));
    var digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ", out = "", bits = 0, have = 0;
    bytes.forEach(function (byte) {
      bits = ((bits << 8) | byte) & 0xffff;
      have += 8;
      while (have >= 5) { have -= 5; out += digits.charAt((bits >> have) & 31); }
    });
    if (have > 0) out += digits.charAt((bits << (5 - have)) & 31);
    return out.replace(/(.{4})(?=.)/g, "$1-");
  }

  var shown = document.getElementById("ticks-code");
  function show() {
    if (!shown) return;
    var done = points.filter(function (b) { return b.checked; }).length;
    shown.textContent = done + " of " + points.length + " points ticked. Code: " + code();
  }
  boxes.forEach(function (box) { box.addEventListener("change", function () { save(); show(); }); });
  load();
  show();
  var after = document.getElementById("ticks");
  if (after) after.hidden = false;
  var file = document.getElementById("ticks-file");
  if (file) file.addEventListener("click", function () {
    var link = document.createElement("a");
    link.href = "data:text/plain;charset=utf-8," + encodeURIComponent(code() + "\n");
    link.download = "ticks-" + card.getAttribute("data-card") + ".txt";
    link.click();
  });

  function speak(words) {
    if (!("speechSynthesis" in window)) return;
    window.speechSynthesis.cancel();
    var said = new SpeechSynthesisUtterance(words);
    said.lang = "en";
    window.speechSynthesis.speak(said);
  }
  if ("speechSynthesis" in window) {
    Array.prototype.forEach.call(document.querySelectorAll("[data-say]"), function (button) {
      button.hidden = false;
      button.addEventListener("click", function () { speak(button.getAttribute("data-say")); });
    });
  }

  function clock(s) {
    var rest = Math.abs(Math.ceil(s)), minutes = Math.floor(rest / 60), seconds = rest % 60;
    return (s < 0 ? "+" : "") + minutes + ":" + (seconds < 10 ? "0" : "") + seconds;
  }
  Array.prototype.forEach.call(document.querySelectorAll("[data-timer]"), function (button) {
    var length = parseFloat(button.getAttribute("data-timer")), begun = null, every = null, told = false;
    button.hidden = false;
    button.textContent = "Timer " + clock(length);
    function tick() {
      var left = length - (Date.now() - begun) / 1000;
      button.textContent = (left < 0 ? "Over by " : "Left ") + clock(left);
      if (left < 0 && !told) {
        told = true;
        if (navigator.vibrate) navigator.vibrate([200, 100, 200]);
        speak("Time");
      }
    }
    button.addEventListener("click", function () {
      if (every) { clearInterval(every); every = null; button.textContent = "Timer " + clock(length); return; }
      begun = Date.now(); told = false; every = setInterval(tick, 250); tick();
    });
  });
})();
