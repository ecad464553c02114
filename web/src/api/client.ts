import type { z } from 'zod';
import type { Problem } from '../../../server/api/contract/figures.ts';
import type { OperationName, operations } from '../../../server/api/contract/operations.ts';
import { askedAt, forgetKept, forgottenSoFar, keep, keptAnswer, keptSince } from '../offline/kept.ts';

/**
 * Method and path of every operation the page uses. The types are taken from the contract, so that a path which differs
 * does not compile; the schemas stay on the server and cost the first screen nothing.
 */
const addresses = {
  listDwellings: { method: 'get', path: '/dwellings' },
  addDwelling: { method: 'post', path: '/dwellings' },
  changeDwelling: { method: 'patch', path: '/dwellings/:dwelling' },
  getNow: { method: 'get', path: '/dwellings/:dwelling/now' },
  getNight: { method: 'get', path: '/dwellings/:dwelling/nights/:night' },
  getMatchedNights: { method: 'get', path: '/dwellings/:dwelling/matched-nights' },
  getTonight: { method: 'get', path: '/dwellings/:dwelling/tonight' },
  getForecastScore: { method: 'get', path: '/dwellings/:dwelling/forecast-score' },
  getAdvice: { method: 'get', path: '/dwellings/:dwelling/advice' },
  listPlaces: { method: 'get', path: '/dwellings/:dwelling/places' },
  addPlace: { method: 'post', path: '/dwellings/:dwelling/places' },
  changePlace: { method: 'patch', path: '/dwellings/:dwelling/places/:id' },
  getHours: { method: 'get', path: '/dwellings/:dwelling/places/:id/hours' },
  getTrack: { method: 'get', path: '/dwellings/:dwelling/places/:id/track' },
  getWinters: { method: 'get', path: '/dwellings/:dwelling/places/:id/winters' },
  getComparison: { method: 'get', path: '/dwellings/:dwelling/comparison' },
  checkLining: { method: 'post', path: '/dwellings/:dwelling/lining-check' },
  listBuildUps: { method: 'get', path: '/dwellings/:dwelling/build-ups' },
  addBuildUps: { method: 'post', path: '/dwellings/:dwelling/build-ups' },
  changeBuildUps: { method: 'patch', path: '/dwellings/:dwelling/build-ups/:id' },
  removeBuildUps: { method: 'delete', path: '/dwellings/:dwelling/build-ups/:id' },
  listSensors: { method: 'get', path: '/dwellings/:dwelling/sensors' },
  changeSensor: { method: 'patch', path: '/dwellings/:dwelling/sensors/:id' },
  placeSensor: { method: 'post', path: '/dwellings/:dwelling/sensors/:id/placements' },
  listPhases: { method: 'get', path: '/dwellings/:dwelling/phases' },
  addPhase: { method: 'post', path: '/dwellings/:dwelling/phases' },
  changePhase: { method: 'patch', path: '/dwellings/:dwelling/phases/:id' },
  removePhase: { method: 'delete', path: '/dwellings/:dwelling/phases/:id' },
  listDiary: { method: 'get', path: '/dwellings/:dwelling/diary' },
  addDiaryEntry: { method: 'post', path: '/dwellings/:dwelling/diary' },
  changeDiaryEntry: { method: 'patch', path: '/dwellings/:dwelling/diary/:id' },
  removeDiaryEntry: { method: 'delete', path: '/dwellings/:dwelling/diary/:id' },
  addPhoto: { method: 'post', path: '/dwellings/:dwelling/photos' },
  getPhoto: { method: 'get', path: '/dwellings/:dwelling/photos/:id/:size' },
  beginImport: { method: 'post', path: '/dwellings/:dwelling/imports' },
  getImport: { method: 'get', path: '/dwellings/:dwelling/imports/:id' },
  checkImport: { method: 'post', path: '/dwellings/:dwelling/imports/:id/check' },
  runImport: { method: 'post', path: '/dwellings/:dwelling/imports/:id/run' },
  removeImport: { method: 'delete', path: '/dwellings/:dwelling/imports/:id' },
  getExample: { method: 'get', path: '/example' },
  addExample: { method: 'post', path: '/example' },
  removeExample: { method: 'delete', path: '/example' },
  previewPack: { method: 'post', path: '/dwellings/:dwelling/pack-preview' },
  makePack: { method: 'post', path: '/dwellings/:dwelling/packs' },
  getPack: { method: 'get', path: '/dwellings/:dwelling/packs/:id' },
  removePack: { method: 'delete', path: '/dwellings/:dwelling/packs/:id' },
  downloadPack: { method: 'get', path: '/dwellings/:dwelling/packs/:id/file' },
  exportRows: { method: 'get', path: '/dwellings/:dwelling/export' },
  listConflicts: { method: 'get', path: '/dwellings/:dwelling/conflicts' },
  listQuarantine: { method: 'get', path: '/quarantine' },
  emptyQuarantine: { method: 'delete', path: '/quarantine' },
  listClockDoubts: { method: 'get', path: '/quarantine/clock-doubts' },
  settleClockDoubt: { method: 'post', path: '/quarantine/clock-doubts' },
  listCalibrations: { method: 'get', path: '/dwellings/:dwelling/calibrations' },
  proposeCalibrations: { method: 'post', path: '/dwellings/:dwelling/calibrations/proposals' },
  addCalibrations: { method: 'post', path: '/dwellings/:dwelling/calibrations' },
  withdrawCalibration: { method: 'post', path: '/dwellings/:dwelling/calibrations/:id/withdrawal' },
  listNotices: { method: 'get', path: '/dwellings/:dwelling/notices' },
  acknowledgeNotice: { method: 'post', path: '/dwellings/:dwelling/notices/:id/acknowledgement' },
  snoozeNotice: { method: 'post', path: '/dwellings/:dwelling/notices/:id/snooze' },
  getWatchRules: { method: 'get', path: '/dwellings/:dwelling/watch-rules' },
  changeWatchRules: { method: 'patch', path: '/dwellings/:dwelling/watch-rules' },
  previewWatchRules: { method: 'post', path: '/dwellings/:dwelling/watch-rules/preview' },
  listUnassigned: { method: 'get', path: '/unassigned' },
  listMappings: { method: 'get', path: '/dwellings/:dwelling/mappings' },
  addMapping: { method: 'post', path: '/dwellings/:dwelling/mappings' },
  changeMapping: { method: 'patch', path: '/dwellings/:dwelling/mappings/:id' },
  removeMapping: { method: 'delete', path: '/dwellings/:dwelling/mappings/:id' },
  listRecipients: { method: 'get', path: '/dwellings/:dwelling/recipients' },
  addRecipient: { method: 'post', path: '/dwellings/:dwelling/recipients' },
  changeRecipient: { method: 'patch', path: '/dwellings/:dwelling/recipients/:id' },
  removeRecipient: { method: 'delete', path: '/dwellings/:dwelling/recipients/:id' },
  testRecipient: { method: 'post', path: '/dwellings/:dwelling/recipients/:id/test' },
  listDeliveries: { method: 'get', path: '/dwellings/:dwelling/deliveries' },
  getPortfolio: { method: 'get', path: '/portfolio' },
  getPortfolioGroups: { method: 'get', path: '/portfolio/groups' },
  exportPortfolio: { method: 'get', path: '/portfolio/file' },
  listOnboardingColumns: { method: 'get', path: '/portfolio/onboarding' },
  checkOnboarding: { method: 'post', path: '/portfolio/onboarding-check' },
  onboardHomes: { method: 'post', path: '/portfolio/onboarding' },
  getLabels: { method: 'get', path: '/portfolio/labels' },
  listGroups: { method: 'get', path: '/groups' },
  addGroup: { method: 'post', path: '/groups' },
  renameGroup: { method: 'patch', path: '/groups/:id' },
  removeGroup: { method: 'delete', path: '/groups/:id' },
  getAttributes: { method: 'get', path: '/dwellings/:dwelling/attributes' },
  changeAttributes: { method: 'patch', path: '/dwellings/:dwelling/attributes' },
  listConsents: { method: 'get', path: '/dwellings/:dwelling/consents' },
  giveConsent: { method: 'post', path: '/dwellings/:dwelling/consents' },
  withdrawConsent: { method: 'post', path: '/dwellings/:dwelling/consents/:id/withdrawal' },
  changeReach: { method: 'post', path: '/access/people/:id/reach' },
  listBackups: { method: 'get', path: '/backups' },
  startBackup: { method: 'post', path: '/backups' },
  retryDelivery: { method: 'post', path: '/dwellings/:dwelling/deliveries/:message/retry' },
  previewMapping: { method: 'post', path: '/dwellings/:dwelling/mapping-preview' },
  getAccess: { method: 'get', path: '/access' },
  signIn: { method: 'post', path: '/access/session' },
  signOut: { method: 'delete', path: '/access/session' },
  setFirstPassphrase: { method: 'post', path: '/access/first-passphrase' },
  changePassphrase: { method: 'post', path: '/access/passphrase' },
  listPeople: { method: 'get', path: '/access/people' },
  addPerson: { method: 'post', path: '/access/people' },
  resetPassphrase: { method: 'post', path: '/access/people/:id/passphrase' },
  removePerson: { method: 'delete', path: '/access/people/:id' },
  listSessions: { method: 'get', path: '/access/sessions' },
  endSession: { method: 'delete', path: '/access/sessions/:id' },
  listDeviceAccounts: { method: 'get', path: '/dwellings/:dwelling/device-accounts' },
  addDeviceAccount: { method: 'post', path: '/dwellings/:dwelling/device-accounts' },
  revokeDeviceAccount: { method: 'post', path: '/dwellings/:dwelling/device-accounts/:id/revocation' },
  listShareLinks: { method: 'get', path: '/dwellings/:dwelling/share-links' },
  addShareLink: { method: 'post', path: '/dwellings/:dwelling/share-links' },
  revokeShareLink: { method: 'post', path: '/dwellings/:dwelling/share-links/:id/revocation' },
  listTrail: { method: 'get', path: '/access/trail' },
} as const satisfies { [N in OperationName]?: Pick<(typeof operations)[N], 'method' | 'path'> };

type Operations = typeof operations;
export type UsedName = keyof typeof addresses;

type SchemaOf<N extends UsedName, K extends string> = Operations[N] extends { readonly [P in K]: infer S } ? S : never;
type Part<S, K extends string, V> = [S] extends [never] ? { readonly [P in K]?: never } : { readonly [P in K]: V };
type RequestOf<N extends UsedName> = Part<
  SchemaOf<N, 'params'>,
  'params',
  z.output<SchemaOf<N, 'params'> & z.ZodType>
> &
  Partial<Part<SchemaOf<N, 'query'>, 'query', z.output<SchemaOf<N, 'query'> & z.ZodType>>> &
  Part<SchemaOf<N, 'body'>, 'body', z.input<SchemaOf<N, 'body'> & z.ZodType>>;
export type AnswerOf<N extends UsedName> =
  SchemaOf<N, 'response'> extends z.ZodType ? z.output<SchemaOf<N, 'response'>> : null;

/** Why an answer did not come: the server refused with a problem, could not be reached, or said something else. */
export type Failure =
  | { readonly kind: 'problem'; readonly problem: Problem }
  | { readonly kind: 'unreachable' }
  | { readonly kind: 'not-understood'; readonly status: number };

export class CallFailed extends Error {
  readonly failure: Failure;
  constructor(failure: Failure, options?: ErrorOptions) {
    super(failure.kind === 'problem' ? failure.problem.title : failure.kind, options);
    this.failure = failure;
  }
}

const filled = (path: string, params: Record<string, unknown> | undefined): string =>
  path.replace(/:([a-z]+)/gi, (_, name: string) => encodeURIComponent(String(params?.[name])));

const asked = (query: Record<string, unknown> | undefined): string => {
  const entries = Object.entries(query ?? {}).filter(([, value]) => value !== undefined);
  return entries.length === 0 ? '' : `?${new URLSearchParams(entries.map(([key, value]) => [key, String(value)]))}`;
};

/** Address of an operation under the page's own origin. */
export function addressOf(name: UsedName, params?: Record<string, unknown>, query?: Record<string, unknown>): string {
  return `/api/v1${filled(addresses[name].path, params)}${asked(query)}`;
}

const isProblem = (value: unknown): value is Problem =>
  typeof value === 'object' && value !== null && 'title' in value && 'code' in value;

const shutOut = new Set<() => void>();

/** Calls `listener` whenever the server says that one has to sign in. */
export function onShutOut(listener: () => void): void {
  shutOut.add(listener);
}

let comings = 0;

/** Somebody came in: that one had to sign in is no news any more where it was said of what was asked before. */
export function cameIn(): void {
  comings += 1;
}

/** To be asked before something is asked for, and again when the answer is there. */
export const comingsSoFar = (): number => comings;

/** Asks the server for one operation. Throws {@link CallFailed}; an aborted call throws the abort itself. */
export async function call<N extends UsedName>(
  name: N,
  request: RequestOf<N>,
  signal?: AbortSignal,
): Promise<AnswerOf<N>> {
  const { params, query, body } = request as {
    params?: Record<string, unknown>;
    query?: Record<string, unknown>;
    body?: unknown;
  };
  const init: RequestInit = { method: addresses[name].method.toUpperCase(), headers: { accept: 'application/json' } };
  if (signal) init.signal = signal;
  if (body !== undefined) {
    init.body = JSON.stringify(body);
    init.headers = { accept: 'application/json', 'content-type': 'application/json' };
  }
  const address = addressOf(name, params, query);
  const keeps = (addresses[name].method === 'get' && !isPassing(addresses[name].path)) || isQuestion(name);
  const keptUnder = isQuestion(name) ? askedAt(address, String(init.body)) : address;
  const forgotten = forgottenSoFar();
  const before = comingsSoFar();
  let response: Response;
  try {
    response = await fetch(address, init);
  } catch (cause) {
    if (signal?.aborted) throw cause;
    const kept = keeps ? await keptAnswer(keptUnder) : null;
    if (kept === null) throw new CallFailed({ kind: 'unreachable' }, { cause });
    keptSince.value = Math.min(kept.at, keptSince.value ?? kept.at);
    return kept.answer as AnswerOf<N>;
  }
  if (response.status === 204) return null as AnswerOf<N>;
  let text: string;
  let answer: unknown;
  try {
    text = await response.text();
    answer = JSON.parse(text);
  } catch (cause) {
    if (signal?.aborted) throw cause;
    throw new CallFailed({ kind: 'not-understood', status: response.status }, { cause });
  }
  if (response.ok) {
    if (keeps) {
      keptSince.value = null;
      void keep(keptUnder, text, forgotten);
    }
    return answer as AnswerOf<N>;
  }
  // whoever has no access any more is not to see what was kept of it
  if (isProblem(answer) && answer.code === 'not-shared') await forgetKept();
  if (isProblem(answer) && answer.code === 'sign-in-needed') {
    await forgetKept();
    if (before === comingsSoFar()) for (const listener of shutOut) listener();
  }
  throw new CallFailed(
    isProblem(answer) ? { kind: 'problem', problem: answer } : { kind: 'not-understood', status: response.status },
  );
}

/** What only asks, with a question too long for an address: it changes nothing, and its answer can be kept like any other. */
const isQuestion = (name: UsedName): boolean => name === 'checkLining';

/** Answers that are only good for the moment, or for the person who asked. */
const isPassing = (path: string): boolean => /^\/(?:access|example)|\/imports\//.test(path);

type UploadName = {
  [N in UsedName]: Operations[N] extends { readonly upload: true } ? N : never;
}[UsedName];

/** Sends a file to an operation that takes one, telling how far it has come, 0 to 1. Throws {@link CallFailed}. */
export function upload<N extends UploadName>(
  name: N,
  request: RequestOf<N>,
  file: Blob,
  progress: (share: number) => void = () => undefined,
): Promise<AnswerOf<N>> {
  const { params, query } = request as { params?: Record<string, unknown>; query?: Record<string, unknown> };
  return new Promise((resolve, reject) => {
    const sending = new XMLHttpRequest();
    sending.open('POST', addressOf(name, params, query));
    sending.setRequestHeader('accept', 'application/json');
    sending.setRequestHeader('content-type', 'application/octet-stream');
    sending.responseType = 'json';
    sending.upload.onprogress = ({ loaded, total }) => progress(total > 0 ? loaded / total : 0);
    sending.onerror = () => reject(new CallFailed({ kind: 'unreachable' }));
    sending.onload = () => {
      const { status, response } = sending;
      if (status >= 200 && status < 300 && response !== null) resolve(response as AnswerOf<N>);
      else if (isProblem(response)) reject(new CallFailed({ kind: 'problem', problem: response }));
      else reject(new CallFailed({ kind: 'not-understood', status }));
    };
    sending.send(file);
  });
}
