/*! The drawing library in this bundle is three.js, under this licence:

The MIT License

Copyright © 2010-2026 three.js authors

Permission is hereby granted, free of charge, to any person obtaining a copy
of this software and associated documentation files (the "Software"), to deal
in the Software without restriction, including without limitation the rights
to use, copy, modify, merge, publish, distribute, sublicense, and/or sell
copies of the Software, and to permit persons to whom the Software is
furnished to do so, subject to the following conditions:

The above copyright notice and this permission notice shall be included in
all copies or substantial portions of the Software.

THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR
IMPLIED, INCLUDING BUT NOT LIMITED TO THE WARRANTIES OF MERCHANTABILITY,
FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE
AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER
LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM,
OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN
THE SOFTWARE.
*/
// The view of a report: the page's own data blocks in, a picture one can walk round out.
// Everything the page needs is in the page; nothing is fetched.

import { Stage } from "./stage.js";
import { Flight } from "./flight.js";
import { Markers } from "./markers.js";
import { Motions } from "./motions.js";
import { panel } from "./panel.js";
import { bytes, json } from "./blocks.js";

async function start() {
  const figure = document.getElementById("view");
  if (!figure) return;
  const data = json("view-data");
  const canvas = figure.querySelector("canvas");
  let stage;
  try {
    stage = new Stage(canvas, data);
    await stage.load(bytes("view-model"), bytes("view-clashes"));
  } catch (error) {
    // Without GL the page keeps its drawn plan and section.
    document.documentElement.dataset.view = "none";
    document.documentElement.dataset.why = String(error && error.message);
    return;
  }
  figure.hidden = false;
  document.documentElement.dataset.view = "ready";
  const flight = new Flight(stage, canvas);
  const motions = new Motions(stage);
  const markers = new Markers(stage, figure.querySelector(".marks"), data.findings);
  const state = panel(figure, { stage, flight, motions, markers, data });
  stage.onDraw = () => markers.place();
  stage.resize();
  flight.home(false);
  window.__view = {
    state: () => ({
      ...state(),
      camera: stage.camera.position.toArray(),
      target: flight.controls.target.toArray(),
      cut: stage.cut,
      visible: stage.visibleMeshes(),
      lit: stage.litNames(),
      moved: motions.amounts(),
      draws: stage.draws,
      flying: flight.flying || motions.playing,
    }),
    pixelOf: (name) => stage.pixelOf(name),
  };
}

start();
