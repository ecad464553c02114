import type { RequestHandler } from 'express';
import { rateLimit } from 'express-rate-limit';
import { RequestProblem } from '../problem.ts';

export const signInLimits = Object.freeze({
  /** passphrases that may be wrong from one address ... */
  tries: 10 as number,
  /** ... in so many minutes */
  minutes: 15 as number,
});

/**
 * Slows down whoever guesses passphrases, by the address they come from. Nobody is locked out for good: the count is
 * forgotten after a quarter of an hour and at a restart, others' addresses are not touched, and whoever sits at the
 * machine can set a new passphrase with `coomb passphrase`.
 */
export function limitSignIn(limits = signInLimits): RequestHandler {
  const limiter = rateLimit({
    windowMs: limits.minutes * 60_000,
    limit: limits.tries,
    skipSuccessfulRequests: true,
    standardHeaders: 'draft-8',
    legacyHeaders: false,
    // anybody may send that header; whether it is believed is the setting of trusted proxies
    validate: { xForwardedForHeader: false, forwardedHeader: false },
    handler: (_request, response) => {
      response.set('retry-after', String(limits.minutes * 60));
      throw new RequestProblem(
        'too-many-tries',
        `Too many wrong passphrases from your address; try again in ${limits.minutes} minutes.`,
      );
    },
  });
  return (request, response, next) =>
    request.method === 'POST' && (request.path === '/session' || request.path === '/passphrase')
      ? limiter(request, response, next)
      : next();
}
