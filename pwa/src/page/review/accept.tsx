// Limits that the program proposed are judgement until an inspector accepts them by name: until then they cannot clear a part.

import type { JSX } from "preact";
import type { FeatureSheet, Sheet, Specification } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { Trouble } from "../shell/dialog";
import { words } from "../words";

export function AcceptSpecification({ sheet, feature }: { sheet: Sheet; feature: FeatureSheet }): JSX.Element | null {
  const backend = useBackend();
  const { busy, trouble, save } = useSave(sheet.job);
  const person = backend.session.value?.person;
  const all = [feature.spec, ...(feature.others ?? [])];
  if (all.length === 1 && (feature.spec.source !== "proposed" || feature.spec.accepted_by)) return null;
  return (
    <section class="say doubt stack">
      <p><b>{all.length > 1 ? words.accept.differ : words.accept.proposed}</b> {all.length > 1 ? words.accept.differWhy : words.accept.proposedWhy}</p>
      {all.map((s, i) => (
        <div key={i} class="spread">
          <span>{words.accept.source[s.source]}{s.reference ? ` ${s.reference}` : ""}: {(s.characteristics ?? []).map((c) => [c.name, c.class].filter(Boolean).join(" ")).join(", ")}</span>
          <button type="button" class="do" disabled={busy || !person} onClick={() => void accept(s)}>{words.accept.accept}</button>
        </div>
      ))}
      <Trouble words={trouble} />
    </section>
  );

  async function accept(s: Specification): Promise<void> {
    if (!person) return;
    await save("specification", { ...s, accepted_by: person.id }, sheet.heads ?? []);
  }
}
