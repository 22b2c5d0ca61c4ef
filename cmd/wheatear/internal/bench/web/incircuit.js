// What can be told of a part that is soldered in.
import { task } from "./task.js";

task((box, result) => {
  const all = document.createElement("pre");
  all.textContent = JSON.stringify(result, null, 1);
  box.append(all);
});
