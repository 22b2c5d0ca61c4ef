// Whether the jig tells the truth.
import { task } from "./task.js";

task((box, result) => {
  const all = document.createElement("pre");
  all.textContent = JSON.stringify(result, null, 1);
  box.append(all);
});
