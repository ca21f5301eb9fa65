// How the tabs of one device tell one another what changed on the disk. A tab that hears nothing is only late, never wrong.

export type TabNews =
  /** entries were stored in these jobs, or left the queue */ | { what: "stored"; jobs: string[] }
  /** somebody entered, left or changed the role */ | { what: "session" }
  /** the database of another server is in use now */ | { what: "server" };

export interface Tabs { tell(news: TabNews): void; hear: ((news: TabNews) => void) | null }

export function browserTabs(): Tabs {
  const channel = new BroadcastChannel("runtrue");
  const tabs: Tabs = { tell: (news) => channel.postMessage(news), hear: null };
  channel.onmessage = (event: MessageEvent<TabNews>) => tabs.hear?.(event.data);
  return tabs;
}
