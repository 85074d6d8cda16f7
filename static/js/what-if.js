// The "what if" pages: draws their charts, and runs the long sum that a page asks for.

import { drawCharts } from "./chart.js";
import { GivenUp, giveUp, run } from "./long-sum.js";

/**
 * Fill a copy of a template with finished texts of the core. In it, data-text="key" takes a text (an empty key: the item
 * itself), <template data-each="key"> is repeated for each item of a list, <template data-with="key"> taken once.
 */
function filled(template, data) {
  const part = template.content.cloneNode(true);
  for (const node of part.querySelectorAll("[data-text]")) node.textContent = node.dataset.text ? data[node.dataset.text] : data;
  for (const node of part.querySelectorAll("[data-class]")) node.classList.add(node.dataset.classStart + data[node.dataset.class]);
  for (const node of part.querySelectorAll("[data-label]")) node.setAttribute("aria-label", data[node.dataset.label]);
  for (const node of part.querySelectorAll("[data-chart-of]")) node.dataset.chart = data[node.dataset.chartOf];
  // Last, so that what these bring is not filled a second time.
  for (const inner of part.querySelectorAll("template")) {
    const { each, with: only } = inner.dataset;
    inner.replaceWith(...(each ? data[each] : [data[only]]).map((item) => filled(inner, item)));
  }
  return part;
}

async function workOut(root) {
  const part = (name) => root.querySelector(`[data-sum-${name}]`);
  const share = root.querySelector("progress");
  part("running").hidden = false;
  part("stop").addEventListener("click", giveUp);
  try {
    const answer = await run(root.dataset.sum, JSON.parse(root.dataset.argument), (done) => { share.value = done; });
    part("answer").append(filled(part("template"), answer));
    drawCharts(part("answer"));
  } catch (error) {
    const said = part(error instanceof GivenUp ? "stopped" : "failed");
    if (error.message) said.textContent = error.message;
    said.hidden = false;
  }
  part("running").hidden = true;
}

drawCharts(document);
const asked = document.querySelector("[data-sum]");
if (asked) workOut(asked);
