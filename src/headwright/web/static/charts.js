// Draws the charts of a page again where script runs, to the width there is and with the numbers
// under the pointer. The drawings that came with the page stay where the library cannot be had.
const plots = [...document.querySelectorAll(".plot[data-spec]")];

const settings = {
  renderer: "svg",
  ast: true, // its own interpreter: the page's policy lets no text become script
  actions: false,
  logLevel: 1, // errors
  defaultStyle: false,
  tooltip: { disableDefaultStyle: true },
};

async function draw(plot) {
  const spec = JSON.parse(plot.dataset.spec);
  spec.width = "container";
  spec.autosize = { type: "fit-x", contains: "padding" };
  if (plot.clientWidth < 480) {
    spec.config.legend.columns = 1;
    spec.config.axis.tickCount = 4;
  }
  const ground = document.createElement("div");
  ground.className = "ground";
  const still = plot.querySelector("svg");
  plot.append(ground);
  try {
    await window.vegaEmbed(ground, spec, settings);
  } catch (fault) {
    ground.remove();
    throw fault;
  }
  still?.remove();
  for (const svg of plot.querySelectorAll("svg")) {
    svg.setAttribute("aria-hidden", "true");
    svg.setAttribute("focusable", "false");
    // The frame around it is the picture with the words; what lies inside is not read out again.
    for (const part of svg.querySelectorAll("[role], [aria-label], [aria-roledescription]")) {
      for (const name of ["role", "aria-label", "aria-roledescription"]) part.removeAttribute(name);
    }
  }
  plot.removeAttribute("tabindex"); // nothing to scroll any more
  plot.classList.add("live");
}

if (plots.length) {
  await import(plots[0].dataset.library);
  for (const plot of plots) await draw(plot);
  document.documentElement.dataset.charts = "drawn";
}
