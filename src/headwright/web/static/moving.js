// The moving picture of one cylinder: crank, piston, valves, and the pressure along the pipes.
const stage = document.querySelector("[data-moving]");
if (stage) {
  const data = JSON.parse(stage.dataset.moving);
  const slider = stage.querySelector("input");
  const button = stage.querySelector("button");
  const say = Object.fromEntries(
    [...stage.querySelectorAll("[data-say]")].map((place) => [place.dataset.say, place]),
  );
  const piston = stage.querySelector(".piston");
  const gas = stage.querySelector(".gas");
  const rod = stage.querySelector(".rod");
  const pin = stage.querySelector(".pin");
  const valves = Object.fromEntries(
    [...stage.querySelectorAll(".valve")].map((valve) => [valve.dataset.side, valve]),
  );
  const [top, throw_, crankY, lift] = [88, 36, 270, 12];
  const largest = Math.max(
    ...["intake", "exhaust"].flatMap((side) =>
      data[side].pressure.flat().map((bar) => Math.abs(bar - data.outside)),
    ),
    0.01,
  );

  // Shades go from blue through paper to brown, as in the maps.
  const shade = (bar) => {
    const share = Math.max(-1, Math.min(1, (bar - data.outside) / largest));
    const end = share < 0 ? [11, 60, 111] : [122, 45, 0];
    const mix = (from, to) => Math.round(from + (to - from) * Math.abs(share));
    return `rgb(${mix(244, end[0])} ${mix(244, end[1])} ${mix(240, end[2])})`;
  };

  const cells = {};
  for (const side of ["intake", "exhaust"]) {
    const group = stage.querySelector(`.pipes.${side}`);
    const [from, to] = [Number(group.dataset.from), Number(group.dataset.to)];
    const count = data[side].places.length;
    const wide = Math.abs(to - from) / Math.max(count, 1);
    cells[side] = data[side].places.map((_, place) => {
      const cell = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      const left = from < to ? from + place * wide : from - (place + 1) * wide;
      for (const [name, value] of Object.entries({
        x: left, y: 52, width: wide + 0.3, height: 22,
      })) cell.setAttribute(name, value);
      group.append(cell);
      return cell;
    });
  }

  const strokes = ["expansion", "exhaust", "intake", "compression"];
  function show(at) {
    const angle = data.degrees[at];
    const turn = (angle * Math.PI) / 180;
    const crown = top + data.piston[at] * 2 * throw_;
    piston.setAttribute("transform", `translate(0 ${crown})`);
    gas.setAttribute("height", Math.max(crown - 82, 1));
    gas.setAttribute("fill-opacity", 0.08 + 0.5 * data.burned[at]);
    const x = 200 + throw_ * Math.sin(turn);
    const y = crankY - throw_ * Math.cos(turn);
    rod.setAttribute("d", `M200 ${crown + 20}L${x.toFixed(1)} ${y.toFixed(1)}`);
    pin.setAttribute("cx", x);
    pin.setAttribute("cy", y);
    say.angle.textContent = `${angle}°`;
    say.stroke.textContent = strokes[Math.floor(angle / 180) % 4];
    say.pressure.textContent = `${data.pressure[at].toFixed(2)} bar`;
    say.burned.textContent = `${Math.round(100 * data.burned[at])} %`;
    for (const side of ["intake", "exhaust"]) {
      const now = data[side];
      valves[side].setAttribute("transform", `translate(0 ${lift * now.open[at]})`);
      cells[side].forEach((cell, place) => cell.setAttribute("fill", shade(now.pressure[place][at])));
      say[side].textContent = now.pressure.length
        ? `${now.pressure[0][at].toFixed(3)} bar, ${now.speed[at]} m/s, valve ${Math.round(100 * now.open[at])} % open`
        : "not modelled";
    }
    slider.setAttribute("aria-valuetext", `${angle} degrees, ${say.stroke.textContent}, ${say.pressure.textContent}`);
  }

  let playing = false;
  let last = 0;
  const place = () => Math.round(Number(slider.value) / 2);
  function step(time) {
    if (!playing) return;
    if (time - last > 33) {
      slider.value = (Number(slider.value) + 2) % 720;
      show(place());
      last = time;
    }
    requestAnimationFrame(step);
  }
  function play(on) {
    playing = on;
    button.textContent = on ? "Pause" : "Play";
    if (on) requestAnimationFrame(step);
  }
  button.addEventListener("click", () => play(!playing));
  slider.addEventListener("input", () => {
    play(false);
    show(place());
  });
  stage.hidden = false;
  show(0);
}
