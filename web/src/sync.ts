// The device and the office: what was saved here goes there once, what stands there is kept here.
import { useEffect, useState } from 'preact/hooks';
import { type Answer, type Books, call, type Head, type Job, NoServer, type Outlook, type Plan, type Prices, type Snapshot, Told, type Worth } from './api';
import * as kept from './kept';
import { who } from './settings';
import { keep as keepProgram } from './wasm';

export interface State {
  /** Undefined until the device's own copy was looked for; null when there is none. */
  snapshot: Snapshot | null | undefined;
  syncedAt: string | null;
  connected: boolean;
  outbox: kept.Kept[];
  /** Why the device cannot keep entries, when it cannot. */
  broken: string | null;
}

let state: State = { snapshot: undefined, syncedAt: null, connected: true, outbox: [], broken: null };
const watchers = new Set<(s: State) => void>();

function become(next: Partial<State>): void {
  state = { ...state, ...next };
  for (const tell of watchers) tell(state);
}

/** useSync returns the state of device and office, and renders again when it changes. */
export function useSync(): State {
  const [now, set] = useState(state);
  useEffect(() => {
    watchers.add(set);
    set(state);
    return () => void watchers.delete(set);
  }, []);
  return now;
}

export const unsent = (s: State) => s.outbox.filter((k) => !k.answer);
export const needsYou = (s: State) => s.outbox.filter((k) => !k.settled && (k.answer?.status === 'refused'));

const tabs = 'BroadcastChannel' in globalThis ? new BroadcastChannel('threshday') : null;
const tell = () => tabs?.postMessage('changed');

async function reread(): Promise<void> {
  const [outbox, page, syncedAt] = await Promise.all([kept.keptCommands(), kept.keptPage('/api/snapshot'), kept.lastSynced()]);
  become({ outbox, snapshot: page?.document ?? state.snapshot ?? null, syncedAt });
}

/** localTime is an instant on this device's clock with its offset, "2031-09-14T06:10:31-05:00". */
export function localTime(t: Date): string {
  const minutes = -t.getTimezoneOffset();
  const two = (n: number) => String(Math.floor(Math.abs(n))).padStart(2, '0');
  const wall = new Date(t.getTime() + minutes * 60_000).toISOString().slice(0, 19);
  return `${wall}${minutes < 0 ? '-' : '+'}${two(minutes / 60)}:${two(minutes % 60)}`;
}

/** save keeps what a person entered, once it is on the disk of the device, and begins to send it. */
export async function save(type: string, body: Record<string, unknown>, say: string, form?: kept.Form): Promise<string> {
  const one = await kept.keepCommand((device, seq) => ({
    id: crypto.randomUUID(), device, seq, device_time: localTime(new Date()), type,
    by: who(), based_on: state.snapshot?.head.seq ?? 0, body,
  }), say, form);
  become({ outbox: [...state.outbox, one] });
  tell();
  void send();
  return one.id;
}

/** deal marks a refused command as dealt with. */
export async function deal(id: string): Promise<void> {
  await kept.settle(id);
  await reread();
  tell();
}

const mostCommands = 100;
const mostBytes = 200_000;

function batch(waiting: kept.Kept[]): kept.Command[] {
  const out: kept.Command[] = [];
  let bytes = 0;
  for (const { command } of waiting) {
    bytes += new TextEncoder().encode(JSON.stringify(command)).length;
    if (out.length === mostCommands || (out.length > 0 && bytes > mostBytes)) break;
    out.push(command);
  }
  return out;
}

let sending: Promise<void> | null = null;
let tries = 0;
let timer: ReturnType<typeof setTimeout> | undefined;

/** send offers everything that waits, oldest first, and tries again later if nobody answers. */
export function send(): Promise<void> {
  return sending ??= trySending().finally(() => { sending = null; });
}

async function trySending(): Promise<void> {
  clearTimeout(timer);
  try {
    for (let waiting = unsent(state); waiting.length > 0; waiting = unsent(state)) {
      const said = await call<{ answers: Answer[]; head: Head; epoch: number; at: string }>('/api/commands', { commands: batch(waiting) });
      if (said.answers.length === 0) throw new NoServer('an empty answer');
      await kept.keepAnswers(said.answers, said.at);
      become({ outbox: await kept.keptCommands(), connected: true });
      tell();
    }
    tries = 0;
    await pull();
  } catch (err) {
    await later(err);
  }
}

async function later(err: unknown): Promise<void> {
  if (err instanceof NoServer || (err instanceof Told && err.status >= 500)) {
    become({ connected: !(err instanceof NoServer) });
  } else if (err instanceof Told) {
    await oneByOne();
    return;
  } else {
    become({ broken: `This browser cannot keep entries: ${String(err)}` });
  }
  // 1 s to 15 s while the page stands open, with some chance in it so that devices do not knock together.
  const wait = Math.min(15_000, 1000 * 2 ** Math.min(tries++, 4)) * (0.75 + Math.random() / 2);
  timer = setTimeout(() => void send(), wait);
}

// A batch that the office cannot read at all: offered one by one, so that one bad command holds up no other.
async function oneByOne(): Promise<void> {
  for (const { command } of unsent(state)) {
    let answers: Answer[];
    try {
      answers = (await call<{ answers: Answer[] }>('/api/commands', { commands: [command] })).answers;
    } catch (one) {
      if (!(one instanceof Told) || one.status >= 500) return;
      answers = [{ id: command.id, status: 'refused', error: one.trouble, findings: one.findings }];
    }
    await kept.keepAnswers(answers, new Date().toISOString());
  }
  become({ outbox: await kept.keptCommands(), connected: true });
}

/** fresh fetches a document that the device may keep, or says with null that the kept one still stands. */
async function fresh<T>(path: string, etag: string | undefined): Promise<{ document: T; etag: string } | null> {
  let answer: Response;
  try {
    answer = await fetch(path, { cache: 'no-store', signal: AbortSignal.timeout(20_000), headers: etag ? { 'If-None-Match': etag } : {} });
  } catch {
    throw new NoServer('no answer');
  }
  if (answer.status === 304) return null;
  const text = await answer.text();
  if (answer.ok) return { document: JSON.parse(text) as T, etag: answer.headers.get('ETag') ?? '' };
  let said: { error?: Told['trouble'] } = {};
  try { said = JSON.parse(text); } catch { throw new NoServer(`status ${answer.status}`); }
  throw new Told(answer.status, said.error ?? { rule: 'http', say: `The computer answered ${answer.status}.` }, []);
}

/** pull brings the snapshot up to what the office holds. */
export async function pull(): Promise<void> {
  const before = await kept.keptPage('/api/snapshot');
  const got = await fresh<Snapshot>('/api/snapshot', before?.etag);
  const at = new Date().toISOString();
  const snapshot = got?.document ?? before?.document ?? null;
  if (!snapshot) return;
  if (got) await kept.keepPage('/api/snapshot', got.etag, snapshot);
  await kept.keepSynced(at);
  become({ snapshot, syncedAt: at, connected: true });
  const epoch = await kept.knownEpoch();
  if (epoch === undefined) await kept.keepEpoch(snapshot.epoch);
  else if (epoch !== snapshot.epoch) {
    await kept.offerAgain(snapshot.epoch);
    become({ outbox: await kept.keptCommands() });
    void send();
  }
  if (got) tell();
}

/** useKept returns a document of the server, the kept copy first, then the newer one. */
export function useKept<P extends '/api/outlets' | `/api/books${string}` | `/api/price?${string}` | `/api/fields/${string}/outlook`>(path: P, version: string | undefined) {
  type Doc = P extends '/api/outlets' ? Worth : P extends `/api/books${string}` ? Books : P extends `/api/price?${string}` ? Prices : Outlook;
  const [got, set] = useState<{ document?: Doc; trouble?: Told['trouble']; away?: boolean }>({});
  useEffect(() => {
    let gone = false;
    const show = (next: typeof got) => { if (!gone) set((now) => ({ ...now, ...next })); };
    set({});
    void (async () => {
      const before = await kept.keptPage(path);
      if (before) show({ document: before.document as Doc });
      try {
        const now = await fresh<Doc>(path, before?.etag);
        if (!now) return;
        await kept.keepPage(path, now.etag, now.document as never);
        show({ document: now.document });
      } catch (err) {
        show(err instanceof Told ? { trouble: err.trouble } : { away: true });
      }
    })();
    return () => { gone = true; };
  }, [path, version]);
  return got;
}

/** planAgain begins a plan and follows it to its end, a look every half second. */
export async function planAgain(): Promise<void> {
  try {
    follow((await call<{ job: Job }>('/api/plan', {})).job);
  } catch (err) {
    if (err instanceof Told && err.trouble.rule === 'plan.running') return watchPlan();
    follow({ state: 'failed', error: err instanceof Told ? err.trouble : { rule: 'away', say: 'The farm’s computer does not answer, so nothing could be planned.', next: 'The last plan stays. Try again when it is on.' } });
    return;
  }
  return watchPlan();
}

function follow(job: Job): void {
  if (state.snapshot) become({ snapshot: { ...state.snapshot, job } });
}

let watching = false;
export async function watchPlan(): Promise<void> {
  if (watching) return;
  watching = true;
  try {
    for (;;) {
      await new Promise((done) => setTimeout(done, 500));
      const { job } = await call<{ job: Job; plan: Plan | null }>('/api/plan');
      if (job.state === 'idle') break; // the page goes on planning until the plan is here
      follow(job);
      if (job.state !== 'running') break;
    }
    const end = state.snapshot?.job;
    await pull();
    if (end && end.state === 'failed') follow(end);
  } catch {
    follow({ state: 'failed', error: { rule: 'away', say: 'The farm’s computer stopped answering while it planned.', next: 'The last plan stays. Plan again when it is on.' } });
    void send();
  } finally {
    watching = false;
  }
}

export async function stopPlan(): Promise<void> {
  try { follow((await call<{ job: Job }>('/api/plan', undefined, { method: 'DELETE' })).job); } catch { /* the watch says what became of it */ }
}

/** start reads what the device holds, then asks the office, and keeps both in step from then on. */
export async function start(): Promise<void> {
  try {
    await reread();
  } catch (err) {
    become({ snapshot: null, broken: `This browser cannot keep entries (${String(err)}), so nothing can be entered here. A private window often is the cause.` });
  }
  tabs?.addEventListener('message', () => void reread());
  addEventListener('online', () => void send());
  document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'visible') void send(); });
  setInterval(() => { if (document.visibilityState === 'visible') void send(); }, 15_000);
  void navigator.storage?.persist?.();
  await send();
  if (state.connected) void keepProgram();
  if (state.snapshot?.job.state === 'running') void watchPlan();
}
