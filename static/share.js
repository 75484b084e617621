import "./listen.js";

document.dispatchEvent(new CustomEvent("redrawn"));
