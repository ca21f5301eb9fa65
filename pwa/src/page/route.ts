// Where the page stands, as the part of the address behind "#". Pure both ways, so that a link and the screen it opens cannot drift apart.

export type Route =
  | { at: "jobs" }
  | { at: "job"; job: string }
  | { at: "measure"; job: string; feature: string; characteristic: string }
  | { at: "list"; job: string }
  | { at: "review" }
  | { at: "cleared"; job: string; component?: string }
  | { at: "enter" }
  | { at: "shop" };

export function parseRoute(hash: string): Route {
  const parts: string[] = [];
  for (const raw of hash.replace(/^#?\/?/, "").split("?")[0]!.split("/")) {
    if (raw === "") continue;
    try {
      parts.push(decodeURIComponent(raw));
    } catch {
      return { at: "jobs" }; // a broken escape in a pasted address
    }
  }
  const [head, job, what, a, b] = parts;
  if (head === "job" && job) {
    if (what === undefined) return { at: "job", job };
    if (what === "measure" && a && b) return { at: "measure", job, feature: a, characteristic: b };
    if (what === "list") return { at: "list", job };
    if (what === "cleared") return a ? { at: "cleared", job, component: a } : { at: "cleared", job };
    return { at: "job", job };
  }
  if (head === "review" || head === "enter" || head === "shop") return { at: head };
  return { at: "jobs" };
}

export function href(r: Route): string {
  const e = encodeURIComponent;
  switch (r.at) {
    case "job": return `#/job/${e(r.job)}`;
    case "measure": return `#/job/${e(r.job)}/measure/${e(r.feature)}/${e(r.characteristic)}`;
    case "list": return `#/job/${e(r.job)}/list`;
    case "cleared": return `#/job/${e(r.job)}/cleared${r.component ? "/" + e(r.component) : ""}`;
    default: return `#/${r.at}`;
  }
}

export function go(r: Route): void {
  location.hash = href(r);
}
