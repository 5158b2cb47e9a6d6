// Filters the rows while typing; the form does the same on the server where this does not run.
const form = document.querySelector("form.sift");

if (form) {
  const rows = [...document.querySelectorAll(".board tbody tr")];
  const status = form.querySelector(".count");
  const none = document.getElementById("none");
  form.querySelector("button").hidden = true;

  const value = (name) => form.elements[name]?.value ?? "";

  function fits(row) {
    const { search, role, squad, states } = row.dataset;
    return (
      search.includes(value("q").trim().toLowerCase()) &&
      ["", role].includes(value("role")) &&
      ["", squad].includes(value("squad")) &&
      (value("state") === "" || states.split(" ").includes(value("state")))
    );
  }

  function sift() {
    for (const row of rows) row.hidden = !fits(row);
    const shown = rows.filter((row) => !row.hidden).length;
    status.textContent = `${shown} of ${rows.length} ${rows.length === 1 ? "athlete" : "athletes"}`;
    none.hidden = shown > 0;
    const kept = new URLSearchParams(location.search);
    for (const name of ["q", "role", "squad", "state"]) {
      if (value(name)) kept.set(name, value(name));
      else kept.delete(name);
    }
    const query = kept.toString();
    history.replaceState(null, "", query ? `?${query}` : location.pathname);
    for (const link of document.querySelectorAll(".board thead a")) {
      const target = new URL(link.href);
      const order = [target.searchParams.get("sort"), target.searchParams.get("order")];
      kept.set("sort", order[0]);
      kept.set("order", order[1]);
      link.href = `${target.pathname}?${kept}`;
    }
  }

  form.addEventListener("input", (event) => {
    if (event.target.name === "sort") form.requestSubmit();
    else sift();
  });
  form.addEventListener("submit", () => {
    for (const field of form.elements) if (field.value === "") field.disabled = true;
  });
  addEventListener("pageshow", () => {
    for (const field of form.elements) field.disabled = false;
    sift();
  });
}
