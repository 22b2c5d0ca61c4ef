// What to set, and how far a part will then be known.
import { task } from "./task.js";

task((box, result) => {
  const all = document.createElement("pre");
  all.textContent = JSON.stringify(result, null, 1);
  box.append(all);
});
