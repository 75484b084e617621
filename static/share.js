import "./elsewhere.js";
import "./listen.js";
import "./roll.js";

document.dispatchEvent(new CustomEvent("redrawn"));
