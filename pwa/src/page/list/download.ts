// Handing a file to the person: saved by the browser, or opened for printing.

export function download(blob: Blob, name: string, open = false): void {
  const url = URL.createObjectURL(blob);
  const a = document.createElement("a");
  a.href = url;
  if (open) {
    a.target = "_blank";
    a.rel = "noopener";
  } else a.download = name;
  document.body.append(a);
  a.click();
  a.remove();
  // The new window or the download must have read the address before it is given back.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
