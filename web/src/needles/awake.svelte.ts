// Keeps the screen on while a page is shown, where the browser can (W3C, Screen Wake Lock).

/** Whether the screen stays on; `refused` where the browser can but does not want to. */
export type Awake = 'asked' | 'on' | 'refused' | 'missing';

export class Wakefulness {
  state = $state<Awake>('asked');
  #lock: WakeLockSentinel | null = null;
  #ended = false;

  constructor() {
    document.addEventListener('visibilitychange', this.#ask);
    void this.#ask();
  }

  end(): void {
    this.#ended = true;
    document.removeEventListener('visibilitychange', this.#ask);
    void this.#lock?.release();
  }

  /** The lock is lost whenever the page is hidden, and asked for anew when it is seen again. */
  #ask = async (): Promise<void> => {
    if (document.visibilityState !== 'visible') return;
    if (!('wakeLock' in navigator)) {
      this.state = 'missing';
      return;
    }
    try {
      const lock = await navigator.wakeLock.request('screen');
      if (this.#ended) return void lock.release();
      this.#lock = lock;
      this.state = 'on';
    } catch {
      this.state = 'refused';
    }
  };
}
