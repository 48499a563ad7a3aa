// Signing in again in another window gives the browser a new form token. A page that was opened before still sends: the
// token is read when the form goes, not when the page was made.

export function token() {
  return document.cookie.match(/(?:^|; )(?:__Host-)?csrftoken=([^;]+)/)?.[1];
}

document.addEventListener("submit", (event) => {
  const field = event.target.elements.namedItem("csrfmiddlewaretoken");
  if (field) {
    field.value = token() ?? field.value;
  }
});

document.addEventListener("htmx:configRequest", (event) => {
  const { headers } = event.detail;
  if ("X-CSRFToken" in headers) {
    headers["X-CSRFToken"] = token() ?? headers["X-CSRFToken"];
  }
});
