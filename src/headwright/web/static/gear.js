// The valve train at a crank angle: what the slider moves is read from the drawing's own data.
const stage = document.querySelector("[data-train]");
if (stage) {
  const data = JSON.parse(stage.dataset.train);
  const slider = stage.querySelector("input");
  const button = stage.querySelector("button");
  const drawing = stage.querySelector("svg");
  const part = (name) => drawing.querySelector(`.${name}`);
  const [cam, tappet, valve, rocker, pushrod, spring] = [
    "cam", "tappet", "valve", "rocker", "pushrod", "spring",
  ].map(part);
  const says = [...stage.querySelectorAll("[data-say]")];
  const height = Number(spring.dataset.height);
  const last = data.degrees.length - 1;
  const step = data.degrees[1] - data.degrees[0];

  function show(at) {
    const [ball, cup] = [data.ball[at], data.cup[at]];
    cam.setAttribute("transform", `rotate(${data.cam[at]} ${data.centre.join(" ")})`);
    tappet.setAttribute("transform", `translate(${data.tappet[at].join(" ")})`);
    valve.setAttribute("transform", `translate(0 ${data.valve[at]})`);
    rocker.setAttribute("transform", `rotate(${data.rocker[at]} ${data.shaft.join(" ")})`);
    pushrod.setAttribute("d", `M${ball.join(" ")}L${cup.join(" ")}`);
    spring.setAttribute("transform", `scale(1 ${(height + data.valve[at]) / height})`);
    for (const place of says) place.textContent = data.says[place.dataset.say][at];
    slider.setAttribute("aria-valuetext", `${data.degrees[at]} degrees, valve lift ${data.says.valve[at]}`);
  }

  let playing = false;
  let before = 0;
  const place = () => Math.min(last, Math.round(Number(slider.value) / step));
  function frame(time) {
    if (!playing) return;
    if (time - before > 40) {
      slider.value = (Number(slider.value) + step) % 720;
      show(place());
      before = time;
    }
    requestAnimationFrame(frame);
  }
  function play(on) {
    playing = on;
    button.textContent = on ? "Pause" : "Play";
    if (on) requestAnimationFrame(frame);
  }
  button.addEventListener("click", () => play(!playing));
  slider.addEventListener("input", () => {
    play(false);
    show(place());
  });
  stage.querySelector(".scrub").hidden = false;
  show(place());
}
