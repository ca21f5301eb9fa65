// The page's side of a new version: it is fetched in the background, waits, and takes over when a person says so and nothing is unsaved anywhere.

export interface UpdateTold { waiting(): void; /** a version that could not be installed whole, or a browser that has no service workers */ trouble(words: string): void }

export class Update {
  private registration: ServiceWorkerRegistration | null = null;
  private controlled = false;

  /** @param unsaved whether anything typed or made is not on the disk yet; @param idle answers when nothing is unsaved */
  constructor(private readonly unsaved: () => boolean, private readonly idle: () => Promise<void>, private readonly told: UpdateTold) {}

  async start(): Promise<void> {
    const container = navigator.serviceWorker;
    if (!container) {
      this.told.trouble("This browser cannot start the page without the network (no secure connection, or service workers are switched off).");
      return;
    }
    this.controlled = container.controller !== null;
    container.addEventListener("message", (event) => {
      if (event.data === "may the new version take over?") event.ports[0]?.postMessage(!this.unsaved());
    });
    container.startMessages();
    container.addEventListener("controllerchange", () => {
      if (!this.controlled) {
        this.controlled = true; // the first version takes charge of the page that brought it
        return;
      }
      void this.idle().then(() => location.reload());
    });
    try {
      const registration = await container.register("/sw.js", { scope: "/", updateViaCache: "none" });
      this.registration = registration;
      if (registration.waiting) this.told.waiting();
      registration.addEventListener("updatefound", () => {
        const fresh = registration.installing;
        fresh?.addEventListener("statechange", () => {
          if (fresh.state === "installed" && this.controlled) this.told.waiting();
        });
      });
    } catch (cause) {
      this.told.trouble(`The page could not be kept for use without the network: ${cause instanceof Error ? cause.message : String(cause)}`);
    }
  }

  /** Asks the server for a newer version; without the network nothing happens. */
  async look(): Promise<void> {
    try {
      await this.registration?.update();
    } catch (cause) {
      if (!(cause instanceof TypeError)) throw cause; // TypeError: the script could not be fetched
    }
  }

  /** Lets the waiting version take over, if every open page agrees. */
  apply(): void {
    if (this.unsaved()) return;
    this.registration?.waiting?.postMessage("take over");
  }
}
