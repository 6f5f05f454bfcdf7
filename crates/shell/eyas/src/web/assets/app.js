// What the pages do beyond being read: sliders, files with progress, work that tells how far it is. Nothing is computed
// here; every page can be read without it.
"use strict";
(() => {
  const on = (root, kind, match, act) =>
    root.addEventListener(kind, (event) => {
      const target = event.target instanceof Element ? event.target.closest(match) : null;
      if (target) act(target, event);
    });

  // A slider shows its number beside it while it moves.
  on(document, "input", "input[type=range]", (slider) => {
    const out = document.getElementById(slider.getAttribute("data-shows") || "");
    if (out) out.textContent = slider.value + (slider.dataset.unit ? " " + slider.dataset.unit : "");
  });

  // Choosing in such a list or box sends its form at once.
  on(document, "change", "[data-sends]", (field) => field.form && field.form.requestSubmit());

  // Asked before what cannot be taken back with one step.
  document.addEventListener("submit", (event) => {
    const asked = event.submitter?.dataset.asks || event.target.dataset.asks;
    if (asked && !window.confirm(asked)) event.preventDefault();
  });
  on(document, "click", "[data-prints]", () => window.print());

  // Files: dropped or chosen, sent with progress, and given up at will.
  for (const kind of ["dragover", "dragleave", "drop"]) {
    on(document, kind, ".drop", (place, event) => {
      event.preventDefault();
      place.classList.toggle("over", kind === "dragover");
      const input = place.querySelector("input[type=file]");
      if (kind === "drop" && input && event.dataTransfer?.files.length) {
        input.files = event.dataTransfer.files;
        input.dispatchEvent(new Event("change", { bubbles: true }));
      }
    });
  }
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !form.matches("form[data-upload]")) return;
    event.preventDefault();
    const bar = form.querySelector("progress") || form.appendChild(document.createElement("progress"));
    const words = form.querySelector("[data-progress]") || form.appendChild(document.createElement("p"));
    words.setAttribute("role", "status");
    bar.hidden = false;
    bar.max = 1;
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "text/html");
    request.upload.onprogress = (e) => {
      if (!e.lengthComputable) return;
      bar.value = e.loaded / e.total;
      words.textContent = e.loaded < e.total
        ? `sent ${(e.loaded / 1e6).toFixed(1)} of ${(e.total / 1e6).toFixed(1)} MB`
        : "sent; being read …";
    };
    request.onload = () => {
      if (request.responseURL && request.status < 400) {
        window.location.assign(request.responseURL);
        return;
      }
      bar.hidden = true;
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      const told = page.querySelector(".alarm");
      words.replaceChildren(told ? document.importNode(told, true) : document.createTextNode(request.responseText));
    };
    request.onerror = () => {
      bar.hidden = true;
      words.textContent = "The connection broke and nothing was kept. Is eyas still running? Send it again.";
    };
    const stop = form.querySelector("[data-stops]");
    if (stop) {
      stop.hidden = false;
      stop.onclick = () => { request.abort(); bar.hidden = true; words.textContent = "given up; nothing was kept"; stop.hidden = true; };
    }
    // The key has to arrive before the file, so that a foreign form is turned away before anything is taken.
    request.send(new FormData(form));
  });

  // Work that goes on: its progress by events, then the page that shows what came of it.
  const follow = (root) => {
    for (const place of root.querySelectorAll("[data-events]")) {
      if (place.dataset.followed) continue;
      place.dataset.followed = "yes";
      const source = new EventSource(place.dataset.events);
      const bar = place.querySelector("progress");
      const words = place.querySelector("[data-progress]");
      source.addEventListener("progress", (event) => {
        const [percent, ...rest] = event.data.split(" ");
        if (bar) { bar.max = 100; bar.value = Number(percent); }
        if (words) words.textContent = rest.join(" ");
      });
      source.addEventListener("ended", () => { source.close(); window.location.replace(place.dataset.then || window.location.href); });
    }
  };
  follow(document);
  document.addEventListener("htmx:afterSwap", (event) => follow(event.target));
})();
