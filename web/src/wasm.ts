// The program on the device: the same Go code as the server's, for sums with no network.
import type { Crop, Statement, Trouble } from './api';

export interface PencilFlag {
  /** "--temp"; an argument has no dashes. */
  name: string; label: string; help: string; accepts?: string; example?: string; default?: string;
  needed: boolean; list: boolean; switch: boolean; file: boolean; choices: string[];
}
export interface Pencil { name: string; title: string; shelf: string; summary: string; detail?: string; flags: PencilFlag[]; examples: string[] }
export type Result<T> = { ok: T; error?: undefined } | { ok?: undefined; error: Trouble; findings?: Trouble[] };

interface Program {
  pencil(name: string, ...args: string[]): string;
  pencils(): string;
  settle(schedule: string, ticket: string, price: string): string;
  schedule(schedule: string, price: string, factor: string): string;
  paste(text: string, crop: string): string;
  examples(): string;
}
declare global {
  var threshday: Program | undefined;
  class Go { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> }
}

let loading: Promise<Program> | undefined;

/** program loads the device's program once, when it is first needed. */
export function program(): Promise<Program> {
  return loading ??= load().catch((err: unknown) => {
    loading = undefined;
    throw err;
  });
}

/** keep lays the program by for a day without the server; the service worker answers from there, and renews it when it can. */
export async function keep(): Promise<void> {
  if (!('caches' in globalThis)) return;
  try {
    const cache = await caches.open('program');
    if (!(await cache.match('/threshday.wasm'))) await cache.addAll(['/wasm_exec.js', '/threshday.wasm']);
  } catch { /* the next visit tries again */ }
}

async function load(): Promise<Program> {
  await new Promise<void>((done, fail) => {
    const script = document.createElement('script');
    script.src = '/wasm_exec.js';
    script.onload = () => done();
    script.onerror = () => fail(new Error('the program is not on this device yet'));
    document.head.append(script);
  });
  const go = new Go();
  const answer = await fetch('/threshday.wasm');
  if (!answer.ok) throw new Error('the program is not on this device yet');
  const { instance } = await WebAssembly.instantiate(await answer.arrayBuffer(), go.importObject);
  void go.run(instance);
  for (let n = 0; !globalThis.threshday && n < 200; n++) await new Promise((done) => setTimeout(done, 10));
  if (!globalThis.threshday) throw new Error('the program did not start');
  return globalThis.threshday;
}

export async function pencils(): Promise<Pencil[]> {
  const got = JSON.parse((await program()).pencils()) as Result<Pencil[]>;
  if (got.error) throw new Error(got.error.say);
  return got.ok!;
}
export async function pencil<T>(name: string, args: string[]): Promise<Result<T>> {
  return JSON.parse((await program()).pencil(name, ...args)) as Result<T>;
}
export async function settle(schedule: unknown, ticket: unknown, price: string): Promise<Result<Statement>> {
  return JSON.parse((await program()).settle(JSON.stringify(schedule), JSON.stringify(ticket), price)) as Result<Statement>;
}

/** A schedule read back while it is typed; what keeps it from settling stands in errors. */
export interface Draft {
  crop: Crop; profile: string[] | null; rows: { say: string; factor: string }[] | null; curve: { reading: string; net_usd_per_gross_unit: string | null }[] | null;
  warnings: Trouble[] | null; settles: boolean; errors: Trouble[]; schedule: unknown; toml: string;
}
export async function readSchedule(text: string, price: string): Promise<Result<Draft>> {
  return JSON.parse((await program()).schedule(text, price, '')) as Result<Draft>;
}
export async function pasteSchedule(table: string, crop: string): Promise<Result<{ toml: string }>> {
  return JSON.parse((await program()).paste(table, crop)) as Result<{ toml: string }>;
}
export async function exampleSchedules(): Promise<{ name: string; toml: string }[]> {
  return (JSON.parse((await program()).examples()) as Result<{ name: string; toml: string }[]>).ok ?? [];
}
