// The section of the clearance page: crown and valves through the rotation, and what is dragged.
let turn = 0;

function show(stage, data, degrees) {
  const at = Math.max(0, Math.min(data.degrees.length - 1, Math.round((degrees + 180) / 2)));
  const say = Object.fromEntries(
    [...stage.querySelectorAll("[data-say]")].map((place) => [place.dataset.say, place]),
  );
  stage.querySelector(".piston").setAttribute("transform", `translate(0 ${data.crown[at]})`);
  for (const valve of stage.querySelectorAll(".valve")) {
    const side = data[valve.dataset.side];
    const lift = side.lift[at];
    const across = (Number(valve.dataset.across) * lift).toFixed(3);
    const down = (Number(valve.dataset.down) * lift).toFixed(3);
    valve.setAttribute("transform", `translate(${across} ${down})`);
    const left = side.travel[at];
    const near = left !== null && left <= 0;
    valve.classList.toggle("touching", near);
    say[valve.dataset.side].textContent =
      `${side.open[at]} open` +
      (left === null ? "" : near
        ? ", touches the piston"
        : `, ${left.toFixed(data.digits)} ${data.unit} to the piston`);
  }
  const now = data.degrees[at];
  say.angle.textContent = now === 0
    ? "top dead centre"
    : `${Math.abs(now)}° ${now < 0 ? "before" : "after"} top dead centre`;
}

function begin() {
  const stage = document.querySelector("[data-clear]");
  if (!stage || stage.dataset.begun) return;
  stage.dataset.begun = "yes";
  const data = JSON.parse(stage.dataset.clear);
  const slider = stage.querySelector("#turn");
  slider.parentElement.hidden = false;
  slider.value = turn;
  const move = () => {
    turn = Number(slider.value);
    show(stage, data, turn);
    slider.setAttribute("aria-valuetext", stage.querySelector('[data-say="angle"]').textContent);
  };
  slider.addEventListener("input", (event) => {
    event.stopPropagation();
    move();
  });
  move();
}

for (const place of document.querySelectorAll("#look output")) {
  const slider = document.getElementById(place.htmlFor.value);
  slider.addEventListener("input", () => {
    place.textContent = `${slider.value} ${place.dataset.unit}`;
  });
}
document.addEventListener("htmx:afterSwap", begin);
begin();
