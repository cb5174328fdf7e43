// Loads MusicXML files in two independent readers, counts what each of them understood and has each
// draw the file.
//   node read.mjs [--load-only] [--pictures DIR] FILE...
// Prints one JSON line a file:
//   { "file": F, "a": {"bars": n, "notes": n, "tab_notes": n, "midi": [key...], "drawn": n},
//     "b": {...} }
// a: opensheetmusicdisplay, b: verovio. notes: heads and grace notes of the notation staff, tied
// ones too; midi: their sounding keys, sorted within a bar by time; drawn: heads and frets in the
// drawing. Ends with 1 where a reader throws.
import { readFileSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { JSDOM } from "jsdom";
import createVerovioModule from "verovio/wasm";
import { VerovioToolkit } from "verovio/esm";

const args = process.argv.slice(2);
const draws = args[0] !== "--load-only";  // without drawing, "drawn" is left out
if (!draws) args.shift();
let pictures = null;
if (args[0] === "--pictures") [, pictures] = args.splice(0, 2);

// A page for the first reader; text is measured roughly, as there is no font engine behind it.
const dom = new JSDOM("<!DOCTYPE html><div id='page'></div>", { pretendToBeVisual: true });
globalThis.window = dom.window;
globalThis.document = dom.window.document;
for (const name of ["Node", "Element", "HTMLElement", "SVGElement", "XMLSerializer", "DOMParser",
                    "HTMLCanvasElement", "Document"])
  globalThis[name] = dom.window[name];
globalThis.navigator ??= dom.window.navigator;
dom.window.SVGElement.prototype.getBBox = function () {
  return { x: 0, y: 0, width: 10 * (this.textContent ?? "").length, height: 10 };
};
dom.window.HTMLCanvasElement.prototype.getContext = () => ({
  measureText: (text) => ({ width: 10 * text.length, actualBoundingBoxAscent: 8,
                            actualBoundingBoxDescent: 2, fontBoundingBoxAscent: 8,
                            fontBoundingBoxDescent: 2 }),
  set font(_) {}, get font() { return "10px serif"; },
});
const { OpenSheetMusicDisplay } = (await import("opensheetmusicdisplay")).default;

async function readA(xml, picture) {
  const page = document.getElementById("page");
  page.innerHTML = "";
  Object.defineProperty(page, "offsetWidth", { value: 1200, configurable: true });
  const display = new OpenSheetMusicDisplay(page, { backend: "svg", autoResize: false,
                                                    drawTitle: true });
  await display.load(xml);
  if (draws) display.render();
  const found = { bars: display.Sheet.SourceMeasures.length, notes: 0, tab_notes: 0, midi: [] };
  let rests = 0;  // on the notation staff
  for (const bar of display.Sheet.SourceMeasures) {
    for (const container of bar.VerticalSourceStaffEntryContainers) {
      container.StaffEntries.forEach((entry, staff) => {
        if (!entry) return;
        for (const voice of entry.VoiceEntries) {
          for (const note of voice.Notes) {
            if (note.isRest()) {
              if (staff === 0) rests += 1;
              continue;
            }
            if (staff === 0) {
              found.notes += 1;
              found.midi.push(note.halfTone + 12);
            } else {
              found.tab_notes += 1;
            }
          }
        }
      });
    }
  }
  if (!draws) return found;
  const drawn = (kind) => page.querySelectorAll(`.${kind}`).length;
  found.drawn = drawn("vf-stavenote") - rests + drawn("vf-tabnote");
  if (picture) {
    writeFileSync(picture, new XMLSerializer().serializeToString(page.querySelector("svg")));
  }
  return found;
}

const verovio = new VerovioToolkit(await createVerovioModule());
verovio.setOptions({ pageWidth: 2100, pageHeight: 2970, scale: 40, footer: "none",
                     xmlIdChecksum: true });

function readB(xml, picture) {
  if (!verovio.loadData(xml)) throw new Error("not loaded");
  const mei = new dom.window.DOMParser().parseFromString(verovio.getMEI(), "text/xml");
  const found = { bars: mei.querySelectorAll("measure").length, notes: 0, tab_notes: 0, midi: [] };
  const steps = { c: 0, d: 2, e: 4, f: 5, g: 7, a: 9, b: 11 };
  const alters = { s: 1, f: -1, ss: 2, x: 2, ff: -2, n: 0 };
  for (const note of mei.querySelectorAll("note")) {
    if (note.closest("staff").getAttribute("n") !== "1") {
      found.tab_notes += 1;
      continue;
    }
    found.notes += 1;
    const accid = note.querySelector("accid");
    const alter = note.getAttribute("accid.ges") ?? note.getAttribute("accid") ??
                  accid?.getAttribute("accid.ges") ?? accid?.getAttribute("accid") ?? "n";
    // Written pitch; oct.ges is the sounding octave where a clef shifts it.
    const octave = Number(note.getAttribute("oct.ges") ?? note.getAttribute("oct"));
    found.midi.push(12 * (octave + 1) + steps[note.getAttribute("pname")] + alters[alter]);
  }
  if (!draws) return found;
  found.pages = verovio.getPageCount();
  found.drawn = 0;
  for (let page = 1; page <= found.pages; ++page) {
    const svg = verovio.renderToSVG(page);
    found.drawn += svg.match(/class="note"/g)?.length ?? 0;
    if (picture && page === 1) writeFileSync(picture, svg);
  }
  return found;
}

let failed = false;
for (const file of args) {
  const xml = readFileSync(file, "utf8");
  const line = { file };
  for (const [name, read] of [["a", readA], ["b", readB]]) {
    const picture = pictures && join(pictures, `${basename(file)}.${name}.svg`);
    try {
      line[name] = await read(xml, picture);
    } catch (error) {
      line[name] = { error: String(error?.stack ?? error).split("\n").slice(0, 3).join(" ") };
      failed = true;
    }
  }
  console.log(JSON.stringify(line));
}
process.exit(failed ? 1 : 0);
