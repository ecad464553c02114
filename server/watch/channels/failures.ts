import type { AttemptCode } from '../../analysis/delivery-vocabulary.ts';

const MOST_DETAIL = 500;

/** One line of what the other side said, short enough to keep and with no control characters. */
export function detailOf(text: string): string {
  const line = text.replaceAll(/[\p{Cc}\p{Zl}\p{Zp}]+/gu, ' ').trim();
  return line.length > MOST_DETAIL ? `${line.slice(0, MOST_DETAIL - 1)}…` : line;
}

/** Codes of the operating system and of TLS, as Node.js gives them in `error.code`. */
const known: readonly [RegExp, AttemptCode][] = [
  [/^(ENOTFOUND|EAI_\w+|EDNS)$/, 'host-not-found'],
  [/^ECONNREFUSED$/, 'connection-refused'],
  [/^(EHOSTUNREACH|ENETUNREACH|EHOSTDOWN|ENETDOWN|EADDRNOTAVAIL|EACCES|EPERM)$/, 'unreachable'],
  [/^(ETIMEDOUT|ESOCKETTIMEDOUT)$/, 'timed-out'],
  [
    /^(CERT_\w+|\w*SELF_SIGNED_CERT\w*|UNABLE_TO_\w+|ERR_TLS_CERT_ALTNAME\w*|HOSTNAME_MISMATCH|INVALID_CA|INVALID_PURPOSE|PATH_LENGTH_EXCEEDED|CRL_\w+|ERROR_IN_CERT_\w+)$/,
    'certificate-not-trusted',
  ],
  [/^(EPROTO|ETLS|ERR_SSL_\w+|ERR_TLS_\w+)$/, 'encryption-failed'],
  [/^(ECONNRESET|EPIPE|ECONNABORTED|ECONNECTION|HPE_\w+)$/, 'connection-lost'],
];

/** What an error of the network means; looks into causes and into the errors of several addresses tried. */
export function networkCode(error: unknown): AttemptCode {
  for (const one of chain(error)) {
    // the mail library keeps the system's own code beside its own
    const { code, originalCode } = one as { code?: unknown; originalCode?: unknown };
    const found = known.find(([pattern]) => [originalCode, code].some((c) => typeof c === 'string' && pattern.test(c)));
    if (found?.[1] === 'encryption-failed' && one instanceof Error && /certificate/i.test(one.message)) {
      return 'certificate-not-trusted';
    }
    if (found !== undefined) return found[1];
  }
  return 'failed';
}

export function networkDetail(error: unknown): string {
  const texts = chain(error).flatMap((one) => (one instanceof Error && one.message !== '' ? [one.message] : []));
  return detailOf(texts[0] ?? String((error as { code?: unknown } | null)?.code ?? error));
}

function chain(error: unknown): unknown[] {
  if (typeof error !== 'object' || error === null) return [];
  const { cause, errors } = error as { cause?: unknown; errors?: unknown };
  return [error, ...(Array.isArray(errors) ? errors.flatMap(chain) : []), ...chain(cause)];
}
