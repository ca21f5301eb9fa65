// May readings be kept here?

export interface Place { userAgent: string; platform: string; touchPoints: number; standalone: boolean }

export function browserPlace(): Place {
  const nav = navigator as Navigator & { standalone?: boolean };
  return {
    userAgent: nav.userAgent, platform: nav.platform, touchPoints: nav.maxTouchPoints,
    standalone: nav.standalone === true || matchMedia("(display-mode: standalone)").matches,
  };
}

/**
 * Not in a tab on iOS or iPadOS: the system deletes what a tab stored after seven days of use without a visit, and the installed app does not share
 * the tab's storage (webkit.org, "Full Third-Party Cookie Blocking and More"; web.dev, "Storage for the web").
 */
export function mayCapture(place: Place): { ok: boolean; words: string } {
  // iPadOS calls itself a Mac; no Mac has a touch screen.
  const ios = /iPad|iPhone|iPod/.test(place.userAgent) || (place.platform === "MacIntel" && place.touchPoints > 1);
  if (!ios || place.standalone) return { ok: true, words: "" };
  return { ok: false, words: "Readings are not kept in a browser tab on this device: the system would delete them. Install the page first (Share, then Add to Home Screen), open it from there and enter your code there. Here you can read only." };
}
