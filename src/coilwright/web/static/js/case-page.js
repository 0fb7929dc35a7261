// The case page: scrub and play frames, show the map or not, follow the vein both ways.
import { carried, nearestIndex, nearestPoint } from "./along.js";

const FRAMES_PER_SECOND = 4;
// How far from the vein, as a share of the picture's width, a pointer still means it.
const REACH = 0.06;

const byId = (id) => document.getElementById(id);
const island = byId("run-data");
if (island !== null) start(JSON.parse(island.textContent));

function start(run) {
  const frames = startFrames(run);
  if (run.trunk !== null) startFollowing(run.trunk, frames);
}

// Frames: the slider, the two views, playing, and the map over them.
function startFrames(run) {
  const form = byId("frame-form");
  const slider = byId("frame");
  const play = byId("frame-play");
  const over = byId("over");
  let timer = null;

  function show() {
    const index = Number(slider.value) - 1;
    const view = new FormData(form).get("view");
    byId("frame-picture").setAttribute("href", `/frames/${index}?view=${view}`);
    byId("frame-words").textContent = run.frameWords[index];
    slider.setAttribute("aria-valuetext", run.frameWords[index]);
    // Breathing moves the vein in unsubtracted frames; the drawing goes with it.
    const [x, y] = view === "raw" ? run.shiftsPx[index] : [0, 0];
    over.setAttribute("transform", `translate(${x} ${y})`);
  }

  function stop() {
    clearInterval(timer);
    timer = null;
    play.textContent = "Play";
    play.setAttribute("aria-pressed", "false");
  }

  function step() {
    slider.value = slider.value === slider.max ? slider.min : Number(slider.value) + 1;
    show();
  }

  play.addEventListener("click", () => {
    if (timer !== null) {
      stop();
      return;
    }
    timer = setInterval(step, 1000 / FRAMES_PER_SECOND);
    play.textContent = "Stop";
    play.setAttribute("aria-pressed", "true");
  });
  form.addEventListener("input", (event) => {
    if (event.target === slider) stop();
    if (event.target.name === "view" || event.target === slider) show();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  byId("map-shown").addEventListener("input", (event) => {
    byId("vessels").setAttribute("visibility", event.target.checked ? "visible" : "hidden");
  });
  byId("frame-show").hidden = true;
  play.hidden = false;
  byId("map-check").hidden = false;
  show();
}

// Following: one place along the vein, shown in the picture, in the straightened vein, in words.
function startFollowing(trunk) {
  const slider = byId("place");
  const mark = byId("place-mark");
  const stage = byId("stage");
  const straight = straightened(byId("straightened").querySelector("svg"), trunk.axis);
  byId("follow").hidden = false;
  byId("place-words").hidden = false;

  function follow(index) {
    slider.value = index;
    slider.setAttribute("aria-valuetext", trunk.words[index]);
    byId("place-words").textContent = trunk.words[index];
    const [x, y] = trunk.pointsPx[index];
    mark.setAttribute("cx", x);
    mark.setAttribute("cy", y);
    mark.setAttribute("visibility", "visible");
    straight.pointAt(trunk.arcMm[index]);
  }

  slider.addEventListener("input", () => follow(Number(slider.value)));
  slider.addEventListener("focus", () => follow(Number(slider.value)));
  stage.addEventListener("pointermove", (event) => {
    const point = toDrawing(stage, byId("over"), event);
    const { index, distance } = nearestPoint(trunk.pointsPx, point);
    if (distance < REACH * stage.viewBox.baseVal.width) follow(index);
  });
  straight.drawing.addEventListener("pointermove", (event) => {
    const arcMm = straight.arcAt(toDrawing(straight.drawing, straight.drawing, event)[0]);
    follow(nearestIndex(trunk.arcMm, arcMm));
  });
}

// Where an event fell, in the coordinates of a group inside a drawing.
function toDrawing(drawing, group, event) {
  const point = new DOMPoint(event.clientX, event.clientY);
  const { x, y } = point.matrixTransform(group.getScreenCTM().inverse());
  return [x, y];
}

// The straightened drawing's own scale, and a line across it that can be moved along.
function straightened(drawing, { x, arcMm }) {
  const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
  const box = drawing.viewBox.baseVal;
  line.setAttribute("class", "place");
  line.setAttribute("y1", box.y);
  line.setAttribute("y2", box.y + box.height);
  line.setAttribute("visibility", "hidden");
  drawing.append(line);
  return {
    drawing,
    arcAt: (at) => carried(at, x, arcMm),
    pointAt: (atMm) => {
      const at = carried(atMm, arcMm, x);
      line.setAttribute("x1", at);
      line.setAttribute("x2", at);
      line.setAttribute("visibility", "visible");
    },
  };
}
