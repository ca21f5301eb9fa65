// Every word that people read on the page, in one place: plain strings, and functions where numbers or names go in.
// The terms are the trade's and the standards' own; one word for one thing.

import type { Action, Outcome, ReadingBody, ReadingLine, Role } from "../contract";

const roleWord: Record<Role, string> = { technician: "technician", inspector: "inspector", assembler: "assembler", quality: "quality", office: "office", admin: "admin", server: "server" };
const many = (n: number, one: string, more: string): string => `${n} ${n === 1 ? one : more}`;
const planeName = (name: string): string => (/^\d+$/.test(name) ? `plane ${name}` : name);
const degrees = (mdeg: number): string => `${mdeg % 1000 === 0 ? mdeg / 1000 : (mdeg / 1000).toFixed(1)}°`;
const listOf = (names: string[]): string => (names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} or ${names[names.length - 1]}`);

export const words = {
  outcome: { conforms: "good", fails: "fails", "cannot be told": "cannot be told", incomplete: "incomplete", "in conflict": "in conflict" } satisfies Record<Outcome, string>,
  action: { reuse: "reuse", rework: "rework", replace: "replace", measure: "measure", decide: "decide" } satisfies Record<Action, string>,
  role: roleWord,
  origin: { removed: "came off this spindle", spare: "from the shelf", new: "new", made: "made here" } as Record<string, string>,
  cleared: "cleared", held: "held", limits: "limits", verdict: "Verdict", alarm: "Alarm:", loading: "Opening the record …", back: "Back", close: "Close", skip: "Skip to the content",
  serial: (s: string) => `no. ${s}`,
  ofStations: (have: number, need: number) => `${have} of ${need}`,
  actOf: (act: string, who: Role[]) => `${act.charAt(0).toUpperCase()}${act.slice(1)}${who?.length && who.length < 6 ? ` (${listOf(who.map((r) => roleWord[r]))})` : ""}.`,

  nav: { name: "Places", jobs: "Jobs", spindle: "Spindle", review: "Out", list: "List", cleared: "Cleared?", shop: "Shop", openJobFirst: "Open a job first" },

  status: {
    waiting: (n: number) => `Saved here, ${n} waiting`, photosWaiting: (n: number) => `${many(n, "photo", "photos")} not yet sent`, refused: (n: number) => `${n} refused by the server`,
    onServer: "All on the server", onlyHere: "Saved here", neverHeard: "server never reached", heard: (age: string) => (age === "just now" ? "heard just now" : `heard ${age} ago`),
    oldKnowledge: (age: string) => `old knowledge: ${age}`, changeInShop: "Change in Shop",
  },

  jobs: {
    title: "In the shop", count: (n: number) => many(n, "spindle", "spindles"), search: "Search jobs", searchHint: "Job, serial, customer, model", waitsForMe: (role: string, n: number) => `Waits for ${role} · ${n}`,
    noneFound: (t: string) => (t ? `No spindle on this device fits “${t}”. Others may be on the server or on other tablets.` : "Nothing waits for you here."), showAll: "Show all", late: "late", unknownSpindle: "Spindle without a name yet",
    promised: "promised", out: "out", parts: (c: number, h: number, o: number) => `${c} cleared, ${h} held, ${o} out or not to be told`, waitsForNobody: "waits for nobody", waitsForWhom: "waits for",
    emptyTitle: "No spindle on this device yet", emptyNever: "This device has not reached the server since it joined. Go where the network reaches and ask for the jobs once; after that everything works without it.",
    emptyAsked: "The server knows of no spindle yet. The office receives one at the desk; it then appears here by itself.", ask: "Ask the server now", asking: "Asking …",
  },

  spindle: {
    drawing: (job: string) => `Spindle of job ${job}, half-section. Each feature with its verdict; choose one to measure it.`, balloon: (f: string, name: string, outcome: string) => `${f}, ${name}: ${outcome}. Measure.`,
    nose: "nose", rear: "rear", noOutline: "Nobody has entered outlines for these parts, so there is nothing to draw. The list below has every feature.", noComponents: "This job has no parts yet. Receive it from a spindle type, or add its parts at the desk.",
    noFeatures: "Nothing is specified for this part: it can be measured once an inspector says what it must be.", round: (n: number) => `round ${n + 1}`, acts: "More", actsOn: (c: string) => `More on ${c}`,
    addFinding: "Damage or a note", addRework: "Rework", decide: "Decide", findings: "Seen on this part",
  },
  block: { job: "job", customer: "customer", spindle: "spindle", serial: "serial no.", stage: "stage", record: "record", entries: (n: number, digest: string) => `${many(n, "entry", "entries")}${digest ? ` · ${digest}` : ""}` },

  setup: {
    title: "Set-up", goOn: "Go on with an open set-up", since: (t: string, n: number) => `zeroed ${t}, ${many(n, "reading", "readings")} so far`, gauge: "Gauge", otherGauge: "Another gauge", allGauges: (n: number) => `All ${n} gauges`,
    noGauges: "This device knows no gauges yet: they come with the shop's record from the server.", noMasters: "This device knows no masters yet: they come with the shop's record from the server.",
    due: (d: string) => `calibrated to ${d}`, overdue: (d: string) => `overdue since ${d}`, dueUnknown: "no calibration date", blindTo: (what: string) => `Cannot see: ${what}`, step: (r: string) => `step ${r}`,
    how: "How it is read", mode: { master: "Set to a master", absolute: "Shows the full size", indicator: "Indicator, free zero" }, master: "Master", fromNominal: (d: string) => `${d} from nominal`,
    farMaster: "This master is far from the nominal size. Take it only if the gauge really spans the difference.", can: "This gauge can decide.", cannot: "This gauge cannot decide here.", notAsked: (why: string) => `The program could not be asked: ${why}`,
    support: "How the part is held", supports: ["between centres", "in its own bearings", "on a plate", "90° V-block at the section", "60° V-block at the section", "V-blocks elsewhere"] as const, zeroRef: "0° is at", zeroRefHint: "keyway, mark, drive slot …", sense: "Angles count", senses: ["clockwise seen from the nose", "counter-clockwise seen from the nose"] as const,
    temperatures: "Temperatures", measured: "Measured", notMeasured: "Not measured", partTemperature: "Part, °C", masterTemperature: "Master, °C", gaugeTemperature: "Gauge, °C", soaked: "Do they lie side by side long enough?", soakedYes: "Yes, soaked", soakedNo: "No, not soaked",
    noTemperature: "temperature not measured", partAt: (t: string) => `part ${t} °C`, change: "Change", begin: "Begin", beginZero: "Zero on the master",
    pickGauge: "Next: pick the gauge in your hand.", pickMaster: "Next: pick the master it is set to.", pickSupport: "Next: say how the part is held.", pickSense: "Next: say which way the angles count.", pickTemperatures: "Next: say whether the temperatures are measured.", badTemperature: "Both temperatures are wanted, in °C between −60 and 300.", pickSoaked: "Next: say whether part and master are soaked.",
  },

  measure: {
    noSuch: (f: string, c: string) => `This job has no ${c} on a feature ${f}. It may have been specified anew: look at the spindle.`, toSpindle: "To the spindle", whereIs: (n: string) => `Where the ${n} is`, station: "Station", stations: "Stations", allStations: "All stations, to repeat one or to go elsewhere",
    stationName: (plane: string, mdeg: number, closing: boolean) => [plane ? planeName(plane) : "", closing ? `${degrees(mdeg)} again` : degrees(mdeg)].filter(Boolean).join(" · ").replace(/^p/, "P"), nextStation: "Next station", previousStation: "Station before",
    taken: (n: number) => many(n, "reading", "readings"), open: "open", repeat: (n: number) => `reading ${n} here`, closing: "(closing)", savedHere: "Saved here:", nothingYet: "No reading yet.", undo: "Undo",
    blind: "Measured again, blind to the first values.", blindProgress: (h: number, n: number) => `Blind: ${h} of ${n} taken. Values are shown when all are.`, kept: (v: string, where: string) => `${v}, ${where}: saved on this device`,
    isItGood: (n: string) => `Is it good: ${n}?`, yes: "Yes", no: "No", notUnderstood: (why: string) => `The number was not kept: ${why}. It still stands on the keypad; press Enter again.`,
    noStation: (v: string) => `${v} was not kept: every station has its reading. Choose the station it belongs to, then type it again.`, alsoNotKept: (v: string) => `Not kept either: ${v}. Type again from here.`,
    zeroBefore: "Zero, on the master", zeroAfter: "Zero again, on the master", zeroBeforeWhy: "Read the master first: what does the gauge show? 0 if it was set just now.", zeroAfterWhy: "Read the master once more. The difference is the drift of this set-up.",
    closingWhy: "Back to the first angle: a difference shows that the indicator moved.", skip: "Skip", allTaken: "All stations are taken.", nextIs: (f: string) => `Next: ${f}`, left: (n: number) => `${n} to take`, readAgain: "Read a station again", ended: "This set-up is closed.", endedWhy: "Its zero was read for the last time. What is read from here on needs a zero of its own.", setUpAgain: "Set up again",
    afterClosing: (v: string) => `${v} was not kept: the zero of this set-up is closed. Set up again, then type it again.`,
    closeNow: "Read the master now", leaveTitle: "Leave this set-up open?", leaveWhy: "Without a closing zero its readings stay provisional: nothing that rests on them can be cleared.", leaveOpen: "Leave it open",
  },
  pad: {
    name: "Keypad", read: "read", changeMeans: "Change what the number means", changeUnit: "Change the unit", chooseUnit: "Unit", chooseMeans: "What the number means", typed: (asks: string, t: string, u: string) => `${asks}: ${t || "nothing typed"} ${u}`,
    means: { size: "full size", "from nominal": "from nominal", "from master": "from master", indicator: "indicator", quantity: "value", "yes or no": "yes or no" } satisfies Record<ReadingBody["means"], string>,
    meansHelp: { size: "the whole dimension", "from nominal": "difference to the drawing's size", "from master": "what the gauge shows against the master", indicator: "from any zero", quantity: "", "yes or no": "" } satisfies Record<ReadingBody["means"], string>,
    unit: (u: string) => (u === "tenth" ? "tenths" : u), unitLong: (u: string) => (u === "tenth" ? "tenths (0.0001 in)" : u), sign: "Plus or minus", beyond: "Beyond the gauge's range", point: "Decimal point", back: "Delete the last digit", keep: "Enter",
  },
  slip: { title: "A slip?", change: "Change", keep: "Yes, keep it", note: "If you are right, keep it: the question stays beside the reading." },

  strike: { title: "Strike this reading", reason: "Why", reasons: { slip: "slip of typing", dirt: "dirt or burr", "wrong place": "wrong place", gauge: "gauge", "wrong part": "wrong part", other: "other" }, text: "In words, if it helps", textNeeded: "In words", note: "It stays in the record with your name and reason; it counts no more.", doIt: "Strike it", leave: "Leave it" },
  finding: {
    title: (c: string) => `Seen on ${c}`, place: "Where", elsewhere: "elsewhere on the part", signs: "What is seen", signList: ["fretting", "wear", "spalling", "dents", "false brinelling", "scoring", "corrosion", "electrical pitting", "heat colour", "crack", "burr", "grease dark"],
    severity: "How bad", severities: { note: "A note", damage: "Damage: holds the part" }, text: "In words", photo: "Photo", photos: (n: number) => `${many(n, "photo", "photos")} saved on this device`, photoTrouble: (why: string) => `The photo was not kept: ${why}. Take it again.`, save: "Save",
  },
  rework: {
    title: (c: string) => `Rework of ${c}`, features: "On which features", state: "State", states: { asked: "asked for", sent: "sent away", done: "done" }, doneMeans: "Done begins a new round: what was read here before no longer counts.", operation: "What is done", operations: ["grind", "hone", "lap", "plate and grind", "sleeve and grind", "polish"] as const,
    from: (u: string) => `From, ${u} from nominal`, to: (u: string) => `To, ${u} from nominal`, who: "By whom", certificate: "Certificate", text: "In words", save: "Save",
  },
  concession: {
    title: (f: string, c: string) => `Concession: ${f}, ${c}`, now: "Limits now:", round: "A concession holds for this round of this feature only.", lower: (u: string) => `Accepted down to, ${u}`, upper: (u: string) => `Accepted up to, ${u}`,
    authority: "Who accepts", authorities: { shop: "this shop", customer: "the customer" }, person: "Name", reference: "Reference (letter, order, mail)", save: "Record the concession",
  },
  settle: {
    title: "Settle", how: "It was", text: "How you know", save: "Settle it", before: (v: string, u: string, who: string) => `The reading ${v} ${u} by ${who} and a rework of this feature were recorded without knowledge of each other. Was it read before or after the rework?`,
    hows: { "place before": "before the rework", "place after": "after the rework", "one rework": "one rework reported twice", "both in order": "two reworks, one after the other", "lift objection": "objection lifted", "keep this fact": "this one is right", "end of part": "end of the part", "same as": "the same part" },
  },
  accept: {
    proposed: "These limits are proposed, not accepted.", proposedWhy: "Until an inspector accepts them they cannot clear the part.", differ: "Two specifications stand.", differWhy: "They were written without knowledge of each other. Accept the one that holds.", accept: "Accept these limits",
    source: { drawing: "Drawing", standard: "Standard", shop: "Shop rule", proposed: "Proposed" },
  },

  review: {
    title: "Out of tolerance", job: (j: string) => `Job ${j}`, openOne: "Open a job to see its cases.", nothingOut: "Everything that has been measured in this job conforms.", others: "In other jobs", noOthers: "No other job on this device has anything out.", out: (n: number) => `${n} out`, choose: "Choose a case.", back: "All cases",
    news: (r: number, o: number) => [r > 0 ? many(r, "new reading", "new readings") : "", o > 0 ? many(o, "other new entry", "other new entries") : ""].filter(Boolean).join(" and "), lookAgain: "Look again", settle: "What would settle it:",
    fromTo: (a: string, b: string) => `${a} to ${b}`, mend: (d: string, much: string) => (d === "metal off" ? `Take off ${much}` : `Put on ${much}`), aim: (a: string) => `aim for ${a}.`, mendAllowed: "Allowed:", mendForbidden: "Not allowed:",
    concession: (c: string, w: string, covers: boolean, why: string) => `Concession on ${c}: ${w}. ${covers ? "It covers." : `It does not cover${why ? `: ${why}` : ""}.`}`, rounds: "Reworks of this feature", struck: "struck", decide: "Decide", rework: "Rework", concede: "Concession", mayNot: "What you save here is kept; only an inspector's or quality's decision has effect.",
    readingBy: (v: string, u: string, who: string) => `${v} ${u}, ${who}`, readings: (n: number, all: number) => `Readings: ${n} count${all > n ? `, ${all - n} more do not` : ""}`, unclocked: "clock not checked", noGauge: "no gauge", asked: (q: string) => `asked “${q}”, kept`, place: "Before or after?", strike: "Strike", strikeThis: (v: string, u: string) => `Strike the reading ${v} ${u}`,
    statuses: { counts: "", struck: "struck", "earlier round": "earlier round", unplaced: "before or after the rework?", "without effect": "without effect" } satisfies Record<ReadingLine["status"], string>,
    why: "Why? Where the uncertainty comes from", steps: "Step by step: how this came about", stepsLater: "The screen stands still while you decide; look again first, then open this.", stepsTrouble: (why: string) => `The steps cannot be shown: ${why}. Close this and open it again.`, stepsLoading: "Working it out …", ruleIs: (r: string) => `Rule: ${r}.`, probability: (p: string) => `Probability that it conforms: ${p}.`, source: "Source", given: "Given", share: "Share",
  },
  decide: {
    title: (c: string) => `Decide on ${c}`, proposal: "The program proposes:", outcome: "Decision", outcomes: { reuse: "Reuse", "fit new": "Fit new", rework: "Rework", replace: "Replace", hold: "Hold", "return as is": "Return as is" }, clearsNot: (f: string) => `${f} does not conform: without a concession the part stays held whatever is decided.`,
    reason: "Reason, for those who read it in a year", seen: (n: number) => `You decide on ${many(n, "entry", "entries")} as shown here.`, advice: "The program advises; you decide. The maker's drawing stands above every table.", mayNot: (role: string) => `As ${role} you may write this down; it has no effect until an inspector decides.`, save: "Save the decision", saveOnThis: "Save on what is shown", leave: "Not now",
  },
  list: {
    title: "Reuse or replace", print: "Print", jobFile: "Job file", component: "Component", proposal: "Proposal", decision: "Decision", why: "Why", worst: "On which feature", undecided: "none yet", overtaken: (o: string) => `${o}, overtaken`, decidedSo: "decided", proposedSo: "proposed, not yet decided", acts: "Act", decideOn: (c: string) => `Decide on ${c}`,
    advice: "Proposals are computed; decisions are people's.", notMade: (why: string) => `The file was not made: ${why}. Nothing was changed; try again.`,
  },
  clear: {
    title: "Which part?", typeTag: "Tag or serial number", CLEARED: "CLEARED", HELD: "HELD", reasons: "What stands against it", noSuch: (c: string, j: string) => `Job ${j} has no part ${c} on this device.`, pick: "Pick a part", elsewhere: (j: string) => `That serial number belongs to job ${j}.`, noneFits: (t: string, j: string) => `No part of job ${j} has the tag or serial “${t}”. Check the job before you build anything in.`,
    toFeature: (f: string) => `To ${f}`, fresh: "How fresh", unsentToo: (n: number) => `${many(n, "entry", "entries")} of this device not yet sent`, evidence: "Evidence", readings: (n: number, ok: number, all: number) => `${many(n, "reading", "readings")}; ${ok} of ${all} requirements conform`, decided: "Decided", isFitted: "Recorded as fitted.",
    fit: "Record: fitted", fitOld: "Fit on old knowledge", fitTitle: (c: string) => `${c}: fitted`, place: "Where it sits", oldWarn: (age: string | null) => (age === null ? "This device has never heard from the server: others may hold this part for a reason that is not known here." : `What this device knows is ${age} old. The step will say so.`),
    caution: "Check the part's own mark against this screen. Heat, press and torque as your shop's instruction says.", fitNow: "Fitted here, now", next: "Another part",
  },
  enter: {
    title: "Join the shop", first: "Type the code that the server printed or that an admin gave you.", again: (n: string) => `${n} works on this device. Another code brings in another person; nothing that is saved here is lost.`, code: "Code", device: "Name of this device", deviceHint: "bench 2 tablet", join: "Join", joining: "Joining …", note: "After this once, the page works without the network.",
  },
  shop: {
    title: "The shop", you: "You", workAs: "Work as", nobody: "Nobody has joined on this device.", scale: "Think in", scales: { metric: "µm and mm", inch: "tenths and inches" }, otherPerson: "Another person", join: "Join", gauges: "Gauges", due: "Calibration", resolution: "Step", uCal: "u of calibration", masters: "Masters", certified: "Certified, 20 °C", people: "People", noPeople: "The shop's record is not on this device yet.",
  },
  device: {
    title: "This device", saved: "entries saved here", unsent: "not yet on the server", photos: (n: number) => many(n, "photo", "photos"), server: "server", online: "answers now", notPersisted: "The browser has not promised to keep this storage. Install the page on the home screen, and send before you put the device away.", engine: "The part of the program that computes is still loading; readings can be typed and wait for it.",
    refused: (j: string, w: string) => `Job ${j}: the server refused an entry: ${w}. It stays here and goes into the file.`, send: "Send now", sending: "Sending …", export: "All entries as a file", import: "Take in a file", update: "A newer version of this page is ready.", updateNow: "Change to it now", leave: "Leave this device (the record stays)",
  },
  pictures: {
    planeName, plane: (name: string, n: number, of: number) => `${name ? planeName(name) : "stations"}: ${n} of ${of} taken`, highMinusLow: "highest − lowest", zeroAt: (z: string) => `0° at ${z}`, highestAt: (a: string) => `highest at ${a}`,
  },
} as const;
