// The shop: this device and what lies on it alone, the person and the role, the scale, people, gauges and masters.

import type { JSX } from "preact";
import { useBackend } from "../backend-context";
import { decimalsFor, lengthText } from "../numbers/length-text";
import { chooseScale, coarse, fine, scale } from "../numbers/preference";
import { now } from "../numbers/time-text";
import { dueText, sortGauges } from "../measure/gauge-pick";
import { href } from "../route";
import { Choices } from "../shell/dialog";
import { words } from "../words";
import { DevicePanel } from "./device";

export function ShopScreen(): JSX.Element {
  const backend = useBackend();
  const shop = backend.shop.value, session = backend.session.value;
  return (
    <main class="page shop">
      <h1>{shop?.name || words.shop.title}</h1>
      <div class="shop-grid">
        <section class="card stack">
          <h2>{words.shop.you}</h2>
          {session ? (
            <>
              <p><b>{session.person.name}</b> <span class="label">{session.device}</span></p>
              <Choices label={words.shop.workAs} value={session.as} options={session.person.roles.map((r) => r.role)} choose={(r) => backend.setRole(r)} text={(r) => words.role[r]} />
            </>
          ) : <p>{words.shop.nobody}</p>}
          <Choices label={words.shop.scale} value={scale.value} options={["metric", "inch"] as const} choose={chooseScale} text={(s) => words.shop.scales[s]} />
          <a class="do" href={href({ at: "enter" })}>{session ? words.shop.otherPerson : words.shop.join}</a>
        </section>
        <DevicePanel />
        <section class="card stack broad">
          <h2>{words.shop.gauges}</h2>
          {(shop?.gauges ?? []).length === 0 ? <p class="label">{words.setup.noGauges}</p> : (
            <div class="scroll" tabIndex={0} role="region" aria-label={words.shop.gauges}><table><thead><tr><th>{words.setup.gauge}</th><th>{words.shop.due}</th><th class="num">{words.shop.resolution}</th><th class="num">{words.shop.uCal}</th></tr></thead>
              <tbody>{sortGauges(shop!.gauges, { kind: "size" }, now.value).map((g) => {
                const due = dueText(g, now.value);
                return <tr key={g.id}><td><b>{g.name || g.id}</b><span class="label block">{g.type}{(g.blind_to ?? []).length > 0 ? `. ${words.setup.blindTo((g.blind_to ?? []).join(", "))}` : ""}</span></td><td class={due.overdue ? "tone-fails" : ""}>{due.text}</td><td class="num">{g.resolution_pm > 0 ? lengthText(g.resolution_pm, fine(), Math.max(1, decimalsFor(g.resolution_pm, fine()))) : "–"}</td><td class="num">{g.u_cal_pm > 0 ? lengthText(g.u_cal_pm, fine(), 2) : "–"}</td></tr>;
              })}</tbody></table></div>
          )}
        </section>
        <section class="card stack">
          <h2>{words.shop.masters}</h2>
          {(shop?.masters ?? []).length === 0 ? <p class="label">{words.setup.noMasters}</p> : (
            <div class="scroll" tabIndex={0} role="region" aria-label={words.shop.masters}><table><thead><tr><th>{words.setup.master}</th><th class="num">{words.shop.certified}</th><th class="num">u</th></tr></thead>
              <tbody>{shop!.masters.map((m) => <tr key={m.id}><td><b>{m.name || m.id}</b></td><td class="num">{lengthText(m.certified_pm, coarse(), coarse() === "mm" ? 4 : 6)}</td><td class="num">{lengthText(m.u_pm, fine(), 2)}</td></tr>)}</tbody></table></div>
          )}
        </section>
        <section class="card stack">
          <h2>{words.shop.people}</h2>
          <ul class="stack">{(shop?.people ?? []).map((p) => <li key={p.id} class="spread"><b>{p.name}</b><span class="label">{(p.roles ?? []).map((r) => words.role[r]).join(", ")}</span></li>)}</ul>
          {(shop?.people ?? []).length === 0 ? <p class="label">{words.shop.noPeople}</p> : null}
        </section>
      </div>
    </main>
  );
}
