// Measures pages in frames of stated widths; what is wrong is left in the page as JSON.
"use strict";
const out = { problems: [], pages: 0, labels: 0, texts: 0, tables: 0, dark: matchMedia("(prefers-color-scheme: dark)").matches };

function luminance([r, g, b]) {
  // WCAG 2.2, relative luminance.
  const part = v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
  return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
}

function colour(text) {
  const m = text.match(/rgba?\(([^)]+)\)/);
  if (!m) return null;
  const v = m[1].split(/[ ,/]+/).map(Number);
  return v.length > 3 && v[3] === 0 ? null : v.slice(0, 3);
}

function ground(element, view) {
  for (let e = element; e; e = e.parentElement) {
    const c = colour(view.getComputedStyle(e).backgroundColor);
    if (c) return c;
  }
  return [255, 255, 255];
}

function measure(frame, name, win) {
  const doc = frame.contentDocument, view = frame.contentWindow;
  const where = `${name} at ${win.width}${win.print ? " printed" : ""}`;
  const say = (kind, text) => out.problems.push(`${where}: ${kind}: ${text}`);
  out.pages += 1;
  const wide = doc.documentElement.scrollWidth;
  if (wide > win.width + 1) say("page wider than its window", `${wide} px`);
  for (const svg of doc.querySelectorAll("svg")) {
    const frameBox = svg.getBoundingClientRect();
    const labels = [...svg.querySelectorAll("text")].filter(t => t.textContent.trim()).map(t => [t.getBoundingClientRect(), t.textContent]);
    out.labels += labels.length;
    labels.forEach(([a, text], k) => {
      if (a.left < frameBox.left - 1 || a.right > frameBox.right + 1 || a.top < frameBox.top - 1 || a.bottom > frameBox.bottom + 1)
        say("label outside its drawing", text);
      for (const [b, other] of labels.slice(k + 1)) {
        const w = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const h = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (w > 0.5 && h > 1) say("labels overlap", `"${text}" and "${other}"`);
      }
    });
  }
  if (win.print) {
    for (const table of doc.querySelectorAll("table")) {
      out.tables += 1;
      const box = table.getBoundingClientRect();
      if (box.right > win.width + 1) say("table clipped by the paper", `${table.id} ${Math.round(box.right)} px`);
    }
    for (const svg of doc.querySelectorAll("figure svg")) {
      if (svg.getBoundingClientRect().right > win.width + 1) say("drawing clipped by the paper", svg.querySelector("title").textContent);
    }
  }
  const walk = doc.createTreeWalker(doc.body, NodeFilter.SHOW_TEXT);
  const seen = new Set();
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || seen.has(e) || e.closest("title, desc, style, script")) continue;
    seen.add(e);
    out.texts += 1;
    const style = view.getComputedStyle(e);
    const ink = colour(e.closest("svg") ? style.fill : style.color);
    if (!ink) continue;
    const [a, b] = [luminance(ink), luminance(ground(e, view))].sort((x, y) => y - x);
    const contrast = (a + 0.05) / (b + 0.05);
    if (contrast < 4.5) say("contrast", `${contrast.toFixed(2)} of "${walk.currentNode.data.trim().slice(0, 40)}"`);
  }
}

(async () => {
  for (const win of WINDOWS) {
    for (const page of PAGES) {
      const frame = document.createElement("iframe");
      frame.style.cssText = `border:0;width:${win.width}px;height:900px`;
      // What holds for paper is made to hold for the frame.
      const html = win.print ? page.html.replaceAll("@media print", "@media all") : page.html;
      await new Promise(done => { frame.onload = done; frame.srcdoc = html; document.body.append(frame); });
      measure(frame, page.name, win);
      frame.remove();
    }
  }
  document.getElementById("out").textContent = JSON.stringify(out);
})();
