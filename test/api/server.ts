import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { expect } from 'vitest';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

/** A running program with a folder of its own, asked over HTTP. */
export interface TestServer {
  readonly folder: string;
  coomb: Coomb;
  /** Calls an operation; an answer that is not a problem is held to its schema in the contract. */
  operate(
    name: OperationName,
    path: string,
    sent?: { json?: unknown; bytes?: Uint8Array },
    // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
  ): Promise<{ status: number; body: any }>;
  restart(): Promise<void>;
  close(): Promise<void>;
}

export async function startServer(clock?: () => number): Promise<TestServer> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-api-'));
  const start = () =>
    startCoomb(readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 }), pino({ level: 'silent' }), clock);
  const server: TestServer = {
    folder,
    coomb: await start(),
    async operate(name, path, { json, bytes } = {}) {
      const operation: Operation = operations[name];
      const response = await fetch(`${server.coomb.address}/api/v1${path}`, {
        method: operation.method.toUpperCase(),
        ...(json === undefined ? {} : { body: JSON.stringify(json), headers: { 'content-type': 'application/json' } }),
        ...(bytes === undefined ? {} : { body: new Uint8Array(bytes) }),
      });
      const text = await response.text();
      const body = text === '' ? null : JSON.parse(text);
      if (response.ok && operation.response !== null) operation.response.parse(body);
      return { status: response.status, body };
    },
    async restart() {
      await server.coomb.close();
      server.coomb = await start();
    },
    async close() {
      await server.coomb.close();
      rmSync(folder, { recursive: true });
    },
  };
  return server;
}

export async function givenHome(server: TestServer, slug = 'mill-cottage'): Promise<void> {
  const section = {
    pitchDeg: 40,
    slopeLengthMm: 900,
    roomHeightMm: 2300,
    liningThicknessMm: 0,
    loftInsulationMm: 300,
    eavesGapMm: 50,
  };
  const answer = await server.operate('addDwelling', '/dwellings', {
    json: { slug, name: slug, zone: 'Europe/London', section },
  });
  expect(answer.status).toBe(201);
}
