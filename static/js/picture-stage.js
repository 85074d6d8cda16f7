// A picture to set points on: a tap sets one, a drag moves one with what is under the finger enlarged beside it, two fingers or a
// button bring the picture closer and move it. What the points mean is the page's own business.

export const SVG = "http://www.w3.org/2000/svg";
const REACH = 24; // A finger this near to a point takes it along [CSS px].
const STILL = 6; // A finger that moves no further only tapped [CSS px].
const LENS = 150;
const ENLARGED = 3.5;
const CLOSEST = 8;
const STEP_CLOSER = 2;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * Make a stage live.
 *
 * @param stage  the .tap-stage, with data-width and data-height of the picture; its [data-view] holds the picture and what lies on it,
 *               its [data-lens] the enlarged part
 * @param page   {points(): all [x, y, ...] in picture pixels, add(point): takes a new point, false when none is wanted, drop(point): a
 *               point that add() took was none, show(): draw the points, keep(): a change is complete}
 * @returns      {unit(): picture pixels of a CSS pixel, closeness(): times as large as the whole picture, show(): the view again}
 */
export function pictureStage(stage, page) {
  const width = Number(stage.dataset.width);
  const height = Number(stage.dataset.height);
  const view = stage.querySelector("[data-view]");
  const lens = stage.querySelector("[data-lens]");
  const fingers = new Map();
  let closer = 1;
  let left = 0;
  let top = 0;
  let held = null; // What the first finger does.
  let pinch = null; // What two fingers do, until all are lifted.
  let last = null;

  stage.style.aspectRatio = `${width} / ${height}`;
  stage.dataset.live = "";

  // ---- the view ----

  const unit = () => width / (stage.clientWidth * closer);
  const between = (low, value, high) => Math.min(high, Math.max(low, value));

  function look(times, x, y) {
    closer = between(1, times, CLOSEST);
    left = between(stage.clientWidth * (1 - closer), x, 0);
    top = between(stage.clientHeight * (1 - closer), y, 0);
    view.style.width = `${closer * 100}%`;
    view.style.left = `${left}px`;
    view.style.top = `${top}px`;
    page.show();
  }

  // Closer or farther about a place on the stage [CSS px].
  function about(times, x, y) {
    const share = between(1, times, CLOSEST) / closer;
    look(times, x - (x - left) * share, y - (y - top) * share);
  }

  function aboutLast(times) {
    const [x, y] = last && page.points().includes(last)
      ? [left + last[0] / unit(), top + last[1] / unit()] : [stage.clientWidth / 2, stage.clientHeight / 2];
    about(times, between(0, x, stage.clientWidth), between(0, y, stage.clientHeight));
  }

  function onStage(event) {
    const box = stage.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  const inPicture = ([x, y]) => [(x - left) * unit(), (y - top) * unit()];

  function inside([x, y]) {
    const round = (value) => Math.round(value * 10) / 10;
    return [round(between(0, x, width)), round(between(0, y, height))];
  }

  // A point set from closer up is a better one: it says how close.
  const marked = (point) => (closer > 1 ? [...inside(point), Math.round(closer * 10) / 10] : inside(point));

  function showLens(point, x) {
    const shown = LENS * unit() / ENLARGED;
    const svg = lens.firstElementChild;
    svg.setAttribute("viewBox", `${point[0] - shown / 2} ${point[1] - shown / 2} ${shown} ${shown}`);
    const arm = shown / 2;
    const gap = shown / 30;
    const cross = [[-arm, -gap], [gap, arm]].map(([from, to]) =>
      `M${point[0] + from} ${point[1]}H${point[0] + to}M${point[0]} ${point[1] + from}V${point[1] + to}`).join("");
    svg.querySelectorAll("path").forEach((path) => path.setAttribute("d", cross));
    // Away from the finger.
    lens.classList.toggle("tap-lens-right", x < stage.clientWidth / 2);
    lens.hidden = false;
  }

  // ---- fingers ----

  function near(at) {
    const far = (point) => Math.hypot(point[0] - at[0], point[1] - at[1]);
    const found = page.points().filter((point) => far(point) < REACH * unit()).sort((a, b) => far(a) - far(b));
    return found[0];
  }

  function place(point) {
    return page.add(point) ? point : null;
  }

  // A tap sets a point, also close to another one: the rims of small pulleys are small. A drag that starts at a point moves it.
  // From closer up a drag that starts elsewhere moves the picture.
  function begin(event) {
    const at = onStage(event);
    const spot = inPicture(at);
    const taken = near(spot);
    held = { at, left, top, point: taken, was: taken && [...taken], isStill: true, isNew: false };
    if (!taken && closer === 1) {
      held.point = place(marked(spot));
      held.isNew = Boolean(held.point);
      page.show();
    }
    if (held.point) {
      held.dx = held.point[0] - spot[0];
      held.dy = held.point[1] - spot[1];
      showLens(held.point, at[0]);
    }
  }

  function move(event) {
    const at = onStage(event);
    if (held.isStill && Math.hypot(at[0] - held.at[0], at[1] - held.at[1]) < STILL) return;
    held.isStill = false;
    if (!held.point) {
      look(closer, held.left + at[0] - held.at[0], held.top + at[1] - held.at[1]);
      return;
    }
    const [x, y] = inPicture(at);
    held.point.splice(0, 3, ...marked([x + held.dx, y + held.dy]));
    page.show();
    showLens(held.point, at[0]);
  }

  function end() {
    const { point, isStill, isNew, at } = held;
    held = null;
    lens.hidden = true;
    if (isStill && !isNew) last = place(marked(inPicture(at))) ?? last;
    else if (point) last = point;
    else return;
    page.keep();
  }

  // The first finger was the start of a pinch: what it did is undone.
  function forget() {
    if (!held) return;
    if (held.isNew) page.drop(held.point);
    else if (held.point) held.point.splice(0, 3, ...held.was);
    held = null;
    lens.hidden = true;
    page.show();
  }

  const spread = () => {
    const [a, b] = [...fingers.values()];
    return { apart: Math.max(1, Math.hypot(a[0] - b[0], a[1] - b[1])), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  };

  stage.addEventListener("pointerdown", (event) => {
    if (event.button || fingers.size > 1) return;
    stage.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, onStage(event));
    if (fingers.size === 2) {
      forget();
      pinch = { ...spread(), closer, left, top };
    } else if (!pinch) begin(event);
  });

  stage.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, onStage(event));
    if (held) move(event);
    if (!pinch || fingers.size < 2) return;
    const { apart, middle } = spread();
    const share = between(1, pinch.closer * apart / pinch.apart, CLOSEST) / pinch.closer;
    look(pinch.closer * share, middle[0] - (pinch.middle[0] - pinch.left) * share, middle[1] - (pinch.middle[1] - pinch.top) * share);
  });

  for (const name of ["pointerup", "pointercancel"]) {
    stage.addEventListener(name, (event) => {
      if (!fingers.delete(event.pointerId)) return;
      if (held) {
        if (name === "pointerup") end();
        else forget();
      }
      if (!fingers.size) pinch = null;
    });
  }

  stage.addEventListener("keydown", (event) => {
    const arrow = ARROWS[event.key];
    if (arrow && last && page.points().includes(last)) {
      event.preventDefault();
      last.splice(0, 2, ...inside([last[0] + arrow[0], last[1] + arrow[1]]));
      page.keep();
    } else if (event.key === "+" || event.key === "-") {
      aboutLast(event.key === "+" ? closer * STEP_CLOSER : closer / STEP_CLOSER);
    }
  });

  stage.parentElement.querySelector("[data-closer]").addEventListener("click", () => aboutLast(closer * STEP_CLOSER));
  stage.parentElement.querySelector("[data-whole]").addEventListener("click", () => look(1, 0, 0));
  new ResizeObserver(() => look(closer, left, top)).observe(stage);

  return { unit };
}

/** Draw a point in a layer over the picture, with a text beside it where one is given. */
export function mark(point, text, kind, unit) {
  const group = document.createElementNS(SVG, "g");
  group.setAttribute("class", kind);
  group.setAttribute("transform", `translate(${point[0]} ${point[1]}) scale(${unit})`);
  const dot = document.createElementNS(SVG, "circle");
  dot.setAttribute("r", 4);
  group.append(dot);
  if (text) {
    const words = document.createElementNS(SVG, "text");
    words.setAttribute("y", -10);
    words.textContent = text;
    group.append(words);
  }
  return group;
}
