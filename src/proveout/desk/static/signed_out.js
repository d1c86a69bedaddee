// Who is signed out meanwhile is told so, once, and the page asks no more.
const UNKNOWN = 401, FORBIDDEN = 403;

export const isSignedOut = (answer) => answer.status === UNKNOWN || answer.status === FORBIDDEN;

export const tellSignedOut = () => {
  if (document.getElementById("signed-out")) return;
  const note = document.createElement("p"), way = document.createElement("a");
  note.id = "signed-out";
  note.className = "verdict";
  note.setAttribute("role", "alert");
  way.href = `/sign-in?next=${encodeURIComponent(location.pathname + location.search)}`;
  way.textContent = "Sign in again";
  note.append("You are signed out, so this page is no longer brought up to date. ", way);
  document.getElementById("main").prepend(note);
};
