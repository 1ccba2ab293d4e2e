// What the device holds: the last snapshot, outlooks by field, and every command a person saved.
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { Answer, Books, Outlook, Prices, Snapshot, Worth } from './api';

/** A Command is what a person entered. It is made once, when it is saved, and never edited. */
export interface Command {
  id: string; device: string; seq: number; device_time: string; type: string; by: string; based_on: number; body: Record<string, unknown>;
}

/** A Form is where a command was typed and what was typed there, so that a person can mend what was refused. */
export interface Form { draft: string; values: Record<string, string>; path: string }

/** A Kept command stands beside what became of it; without an answer it waits to be sent. */
export interface Kept { id: string; seq: number; command: Command; say: string; form?: Form; answer?: Answer; answeredAt?: string; settled?: boolean }

interface Keep extends DBSchema {
  outbox: { key: string; value: Kept; indexes: { seq: number } };
  pages: { key: string; value: { etag: string; document: unknown } };
  device: { key: string; value: string | number };
}

let opened: Promise<IDBPDatabase<Keep>> | undefined;
const db = () => opened ??= openDB<Keep>('threshday', 1, {
  upgrade(d) {
    d.createObjectStore('outbox', { keyPath: 'id' }).createIndex('seq', 'seq');
    d.createObjectStore('pages');
    d.createObjectStore('device');
  },
});

const strict = { durability: 'strict' } as const;

/** keepCommand numbers the command and returns once it is on the disk. */
export async function keepCommand(make: (device: string, seq: number) => Command, say: string, form?: Form): Promise<Kept> {
  const tx = (await db()).transaction(['outbox', 'device'], 'readwrite', strict);
  const device = tx.objectStore('device');
  const name = (await device.get('name')) as string | undefined ?? `browser ${crypto.randomUUID().slice(0, 4)}`;
  const seq = ((await device.get('seq')) as number | undefined ?? 0) + 1;
  const command = make(name, seq);
  const kept: Kept = { id: command.id, seq, command, say, ...(form ? { form } : {}) };
  await Promise.all([device.put(name, 'name'), device.put(seq, 'seq'), tx.objectStore('outbox').add(kept), tx.done]);
  return kept;
}

export async function keptCommands(): Promise<Kept[]> { return (await db()).getAllFromIndex('outbox', 'seq'); }

/** keepAnswers stands each answer beside its command. */
export async function keepAnswers(answers: Answer[], at: string): Promise<void> {
  const tx = (await db()).transaction('outbox', 'readwrite', strict);
  for (const answer of answers) {
    const kept = await tx.store.get(answer.id);
    if (kept) await tx.store.put({ ...kept, answer, answeredAt: at });
  }
  await tx.done;
}

/** settle marks a refused or doubted command as dealt with; it stays in the list. */
export async function settle(id: string): Promise<void> {
  const tx = (await db()).transaction('outbox', 'readwrite', strict);
  const kept = await tx.store.get(id);
  if (kept) await tx.store.put({ ...kept, settled: true });
  await tx.done;
}

/** offerAgain takes the answers off everything that was taken in, after the office went back to a backup. */
export async function offerAgain(epoch: number): Promise<void> {
  const tx = (await db()).transaction(['outbox', 'device'], 'readwrite', strict);
  const outbox = tx.objectStore('outbox');
  for (const { answer, answeredAt: _, ...one } of await outbox.getAll()) {
    if (answer && answer.status !== 'refused') await outbox.put(one);
  }
  await tx.objectStore('device').put(epoch, 'epoch');
  await tx.done;
}

export async function knownEpoch(): Promise<number | undefined> { return (await (await db()).get('device', 'epoch')) as number | undefined; }
export async function keepEpoch(epoch: number): Promise<void> { await (await db()).put('device', epoch, 'epoch'); }

export async function keepSynced(at: string): Promise<void> { await (await db()).put('device', at, 'synced'); }
export async function lastSynced(): Promise<string | null> { return ((await (await db()).get('device', 'synced')) as string | undefined) ?? null; }

interface Pages { '/api/snapshot': Snapshot; '/api/outlets': Worth; [outlook: `/api/fields/${string}/outlook`]: Outlook; [books: `/api/books${string}`]: Books; [prices: `/api/price?${string}`]: Prices }

export async function keptPage<P extends keyof Pages>(path: P): Promise<{ etag: string; document: Pages[P] } | undefined> {
  return (await (await db()).get('pages', path)) as { etag: string; document: Pages[P] } | undefined;
}
export async function keepPage<P extends keyof Pages>(path: P, etag: string, document: Pages[P]): Promise<void> {
  await (await db()).put('pages', { etag, document }, path);
}
