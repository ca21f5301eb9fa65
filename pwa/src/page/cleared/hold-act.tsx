// The next act beside the reason: a hold that this person can lift here is lifted here, not looked for elsewhere.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ComponentSheet, Reason, Role, Sheet } from "../../contract";
import { SettleForm } from "../forms/settle";
import type { How } from "../forms/settle";
import { features, handle } from "../reading-sheet";
import { AcceptSpecification } from "../review/accept";
import { DecideDialog } from "../review/decide-dialog";
import { href } from "../route";
import { words } from "../words";

const settles: Record<string, readonly How[]> = {
  "reading not placed": ["place before", "place after"],
  "reworks differ": ["one rework", "both in order"],
  objection: ["lift objection"],
};
const accepts = new Set(["specification not accepted", "specifications differ"]);
const decides = new Set(["no decision", "decision overtaken", "decisions differ", "decided against", "damage not decided", "own strike", "role withdrawn"]);

/** What can be done about a hold on the spot by somebody in this role; "none" where the words have to do. */
export function actFor(h: Reason, as: Role | undefined): "settle" | "accept" | "decide" | "none" {
  const may = as !== undefined && (h.who ?? []).includes(as);
  if (!may) return "none";
  if (settles[h.code] && (h.refs ?? []).length > 0) return "settle";
  if (accepts.has(h.code) && h.feature) return "accept";
  return decides.has(h.code) ? "decide" : "none";
}

export function HoldAct({ sheet, c, h, as }: { sheet: Sheet; c: ComponentSheet; h: Reason; as: Role | undefined }): JSX.Element | null {
  const [open, setOpen] = useState(false);
  const what = actFor(h, as);
  const feature = h.feature ? features(c).find((f) => f.spec.feature === h.feature) : undefined;
  const characteristic = h.characteristic || feature?.spec.characteristics?.[0]?.name;
  return (
    <>
      {what === "settle" ? <button type="button" class="do" onClick={() => setOpen(true)}>{words.settle.title}</button> : null}
      {what === "decide" ? <button type="button" class="do" onClick={() => setOpen(true)}>{words.review.decide}</button> : null}
      {what === "accept" && feature ? <AcceptSpecification sheet={sheet} feature={feature} /> : null}
      {what !== "accept" && feature && characteristic ? <a class="do quiet" href={href({ at: "measure", job: sheet.job, feature: feature.spec.feature, characteristic })}>{words.clear.toFeature(feature.spec.feature)}</a> : null}
      {open && what === "settle" ? <SettleForm sheet={sheet} about={h.refs ?? []} what={h.words} hows={settles[h.code]!} close={() => setOpen(false)} /> : null}
      {open && what === "decide" ? <DecideDialog live={sheet} component={handle(c)} close={() => setOpen(false)} /> : null}
    </>
  );
}
