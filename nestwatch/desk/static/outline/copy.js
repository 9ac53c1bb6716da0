// The drawing as text for the site file, made in the browser: it must work when the program has stopped.

const quoted = (text) => JSON.stringify(text);
const pair = ([x, y]) => `[${x}, ${y}]`;

export function asText(state) {
  const lines = ["# Zones and marks as they stood on the page. Put each camera's tables under its [[camera]]."];
  state.cameras.forEach((camera, n) => {
    lines.push("", `# camera ${quoted(camera.name)}, picture ${camera.picture.join(" x ")}`);
    for (const zone of state.drawings[n].zones) {
      lines.push("", "[[camera.zone]]", `name = ${quoted(zone.name)}`, `kind = ${quoted(zone.kind)}`);
      lines.push(`outline = [${zone.outline.map(pair).join(", ")}]`);
    }
    for (const mark of state.drawings[n].marks) {
      lines.push("", "[[camera.mark]]", `post = ${quoted(mark.post)}`, `pixel = ${pair(mark.pixel)}`);
    }
  });
  return `${lines.join("\n")}\n`;
}

export function keepCopy(state, file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([asText(state)], { type: "text/plain" }));
  link.download = `${file.replace(/\.toml$/, "")}-drawing.txt`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
