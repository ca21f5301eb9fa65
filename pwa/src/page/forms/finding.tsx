// What somebody saw on a part. Damage holds the part until a person has decided on it.

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Sheet } from "../../contract";
import { useBackend, useSave } from "../backend-context";
import { seenHeads } from "../seen";
import { Choices, Dialog, Trouble } from "../shell/dialog";
import { words } from "../words";

interface Photo { hash: string; bytes: number; w: number; h: number }

export function FindingForm({ sheet, subject, name, places, close }: { sheet: Sheet; subject: string; name: string; places: { feature: string; name: string }[]; close: () => void }): JSX.Element {
  const backend = useBackend();
  const [place, setPlace] = useState(places[0]?.feature ?? "");
  const [signs, setSigns] = useState<string[]>([]);
  const [severity, setSeverity] = useState<"note" | "damage" | null>(null);
  const [text, setText] = useState("");
  const [photos, setPhotos] = useState<Photo[]>([]);
  const [photoTrouble, setPhotoTrouble] = useState("");
  const { busy, trouble, save } = useSave(sheet.job);
  const lacks = severity === null || (signs.length === 0 && text.trim() === "" && photos.length === 0);
  return (
    <Dialog title={words.finding.title(name)} close={close}>
      <label class="field"><span>{words.finding.place}</span>
        <select value={place} onChange={(e) => setPlace(e.currentTarget.value)}>
          {places.map((p) => <option key={p.feature} value={p.feature}>{p.feature} {p.name}</option>)}
          <option value="">{words.finding.elsewhere}</option>
        </select>
      </label>
      <fieldset class="field"><legend>{words.finding.signs}</legend>
        <div class="choices">{words.finding.signList.map((s) => <button type="button" key={s} class="do" aria-pressed={signs.includes(s)} onClick={() => setSigns(signs.includes(s) ? signs.filter((x) => x !== s) : [...signs, s])}>{s}</button>)}</div>
      </fieldset>
      <Choices label={words.finding.severity} value={severity} options={["note", "damage"] as const} choose={setSeverity} text={(s) => words.finding.severities[s]} />
      <label class="field"><span>{words.finding.text}</span><textarea value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <label class="field"><span>{words.finding.photo}</span><input type="file" accept="image/*" capture="environment" onChange={(e) => void addPhoto(e.currentTarget)} /></label>
      {photos.length > 0 ? <p role="status">{words.finding.photos(photos.length)}</p> : null}
      <Trouble words={photoTrouble || trouble} />
      <button type="button" class="do main" disabled={busy || lacks} onClick={() => void keep()}>{words.finding.save}</button>
    </Dialog>
  );

  async function addPhoto(input: HTMLInputElement): Promise<void> {
    setPhotoTrouble("");
    try {
      for (const file of input.files ?? []) {
        const p = await backend.savePhoto(file);
        setPhotos((list) => [...list, p]);
      }
      input.value = "";
    } catch (e: unknown) {
      setPhotoTrouble(words.finding.photoTrouble(e instanceof Error ? e.message : String(e)));
    }
  }

  async function keep(): Promise<void> {
    const saved = await save("finding", { subject: place || subject, place: places.find((x) => x.feature === place)?.name ?? "", signs, severity, text: text.trim(), photos }, seenHeads(sheet));
    if (saved?.ok) close();
  }
}
