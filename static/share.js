// What moves and sounds on the page of someone who may only look.
import "./elsewhere.js";
import "./listen.js";
import "./roll.js";
import "./turning.js";

document.dispatchEvent(new CustomEvent("redrawn"));
