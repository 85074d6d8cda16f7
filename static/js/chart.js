// Draws the charts of a page with uPlot. What they show comes from core/screens/whatif.py; how they look from the
// stylesheet, so that they follow light and dark. The same in words stands beside every chart.

const HEIGHT = 300;
const LOOKS = {
  one: { colour: "--chart-one", width: 3 },
  two: { colour: "--chart-two", width: 3, dash: [10, 5] },
  dashed: { colour: "--chart-one", width: 2, dash: [4, 4] },
  quiet: { colour: "--chart-quiet", width: 1.5 },
  edge: { colour: "--chart-band-edge", width: 1 },
};

const drawn = new Map();

/** Draw every chart inside an element that is not drawn yet. */
export function drawCharts(root) {
  for (const place of root.querySelectorAll("[data-chart]")) {
    if (!drawn.has(place)) draw(place);
  }
}

function draw(place) {
  const old = drawn.get(place);
  old?.destroy();
  const chart = JSON.parse(place.dataset.chart);
  const style = getComputedStyle(place);
  const colour = (name) => style.getPropertyValue(name).trim();
  const font = `14px ${style.fontFamily}`;
  const axis = (label) => ({
    label, values: (plot, splits) => splits.map(plain), font, labelFont: `bold ${font}`, labelSize: 26, stroke: colour("--ink"),
    grid: { stroke: colour("--hair"), width: 1 }, ticks: { stroke: colour("--line"), width: 1 },
  });
  const options = {
    width: place.clientWidth, height: HEIGHT,
    scales: { x: { time: false } },
    axes: [axis(chart.x_label), { ...axis(chart.y_label), size: 56 }],
    series: [{ label: chart.x_label, value: shown }, ...chart.lines.map(({ name, look }) => ({
      label: name, value: shown, class: `chart-${look}`, points: { show: false },
      stroke: colour(LOOKS[look].colour), width: LOOKS[look].width, dash: LOOKS[look].dash,
    }))],
    bands: chart.bands.map(([high, low]) => ({ series: [high + 1, low + 1], fill: colour("--chart-band") })),
    legend: { markers: { width: 3, dash: (plot, i) => (LOOKS[chart.lines[i - 1]?.look]?.dash ? "dashed" : "solid") } },
    // A finger scrolls the page; the cross follows it across the chart all the same.
    cursor: { y: false, drag: { x: false, y: false } },
    hooks: { draw: [(plot) => {
      drawMarks(plot, chart.marks, colour, font);
      drawTags(plot, chart, colour, font);
    }] },
  };
  const plot = new uPlot(options, [chart.x, ...chart.lines.map(({ y }) => y)], place);
  followFinger(plot);
  drawn.set(place, plot);
}

// Without the noise of binary fractions, and without a separator that another country reads as a decimal.
function plain(value) {
  return String(Number(value.toPrecision(6)));
}

// Nothing is under the finger yet: nothing is shown.
function shown(plot, value) {
  return value == null ? "" : String(Number(value.toPrecision(3)));
}

// Lines that look alike carry a number where they begin.
function drawTags(plot, { x, lines }, colour, font) {
  const { ctx } = plot;
  ctx.save();
  ctx.font = font.replace("14px", `bold ${14 * devicePixelRatio}px`);
  ctx.fillStyle = colour("--ink");
  ctx.textBaseline = "bottom";
  lines.forEach(({ tag, y }, i) => {
    // Every other one stands further in: close lines do not cover each other's.
    const left = plot.valToPos(x[0], "x", true) + (i % 2 ? 24 : 4) * devicePixelRatio;
    if (tag) ctx.fillText(tag, left, plot.valToPos(y[0], "y", true));
  });
  ctx.restore();
}

// Upright lines with a short name at their top.
function drawMarks(plot, marks, colour, font) {
  const { ctx, bbox } = plot;
  const ratio = devicePixelRatio;
  ctx.save();
  ctx.font = font.replace("14px", `bold ${16 * ratio}px`);
  ctx.textAlign = "center";
  for (const { name, x, look } of marks) {
    const at = plot.valToPos(x, "x", true);
    if (at < bbox.left || at > bbox.left + bbox.width) continue;
    ctx.strokeStyle = ctx.fillStyle = colour(look === "two" ? "--chart-two" : "--ink");
    ctx.lineWidth = 2 * ratio;
    ctx.setLineDash(look === "two" ? [10 * ratio, 5 * ratio] : []);
    ctx.beginPath();
    ctx.moveTo(at, bbox.top + 22 * ratio);
    ctx.lineTo(at, bbox.top + bbox.height);
    ctx.stroke();
    ctx.fillText(name, at, bbox.top + 16 * ratio);
  }
  ctx.restore();
}

function followFinger(plot) {
  plot.over.addEventListener("pointermove", (event) => {
    if (event.pointerType === "touch") plot.setCursor({ left: event.offsetX, top: event.offsetY });
  });
}

function drawAgain() {
  for (const place of [...drawn.keys()]) {
    if (place.isConnected) draw(place);
    else drawn.delete(place);
  }
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAgain);
addEventListener("resize", () => {
  for (const [place, plot] of drawn) plot.setSize({ width: place.clientWidth, height: HEIGHT });
});
