// Follows a job as it goes. When it is over the page is read anew and shows what was found.
const job = document.querySelector("[data-events]");
if (job) {
  const status = job.querySelector("[role=status]");
  const bar = job.querySelector("progress");
  const lost = job.querySelector(".lost");
  const source = new EventSource(job.dataset.events);
  const show = (event) => {
    const now = JSON.parse(event.data);
    lost.hidden = true;
    if (now.wanted) {
      bar.max = now.wanted;
      bar.value = now.done;
      status.textContent = `Running: ${now.done} of ${now.wanted} ${job.dataset.steps}.`;
    } else if (now.state === "running") {
      bar.removeAttribute("value");
      status.textContent = "Running: getting ready.";
    }
  };
  source.addEventListener("progress", show);
  source.addEventListener("over", (event) => {
    show(event);
    source.close();
    window.location.reload();
  });
  source.addEventListener("error", () => {
    lost.hidden = false;
  });
}
