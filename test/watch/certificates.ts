import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { hasOpenssl, makeCertificates, opensslMissing } from '../firmware/wire.ts';

/** A certificate for localhost and the authority that signed it, made anew; null: there is no openssl to make them. */
export interface Certificates {
  readonly authority: string;
  readonly key: string;
  readonly certificate: string;
}

export function newCertificates(): Certificates | null {
  if (!hasOpenssl) {
    console.warn(`SKIPPED: word sent over TLS: ${opensslMissing}`);
    return null;
  }
  const folder = mkdtempSync(join(tmpdir(), 'coomb-certificates-'));
  makeCertificates(folder);
  const read = (file: string): string => readFileSync(join(folder, file), 'utf8');
  return { authority: read('ca.pem'), key: read('server.key'), certificate: read('server.pem') };
}
