// What moves on the page of someone who may only look.
import "./turning.js";
