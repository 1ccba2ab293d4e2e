// The service worker: the page installs, and opens without the server.
import { useEffect, useState } from 'preact/hooks';
import { registerSW } from 'virtual:pwa-register';

let ready = false;
const told = new Set<() => void>();
const take = registerSW({
  onNeedRefresh() {
    ready = true;
    for (const tell of told) tell();
  },
});

/** useUpdate says whether a newer program waits, and takes it when the person asks. */
export function useUpdate(): { ready: boolean; take: () => void } {
  const [, again] = useState(0);
  useEffect(() => {
    const tell = () => again((n) => n + 1);
    told.add(tell);
    return () => void told.delete(tell);
  }, []);
  return { ready, take: () => void take(true) };
}
