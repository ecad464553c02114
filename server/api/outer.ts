import type { NextFunction, Request, Response } from 'express';
import helmet from 'helmet';

/** A month: long enough to be of use, short enough that a home that gives up its certificate is not shut out for long. */
const HSTS_SECONDS = 30 * 86_400;

/** What every answer says to a browser. A route may say something stricter of its own. */
export function strictHeaders() {
  const headers = helmet({
    // said below where it holds: a home network mostly speaks plain HTTP
    hsts: false,
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'self'"],
        baseUri: ["'none'"],
        formAction: ["'self'"],
        frameAncestors: ["'none'"],
        imgSrc: ["'self'", 'data:', 'blob:'],
        objectSrc: ["'none'"],
      },
    },
    xFrameOptions: { action: 'deny' },
  });
  return (request: Request, response: Response, next: NextFunction): void => {
    response.set('permissions-policy', 'camera=(), microphone=(), geolocation=(), payment=(), usb=()');
    // RFC 6797, 7.2: not over plain HTTP
    if (request.secure) response.set('strict-transport-security', `max-age=${HSTS_SECONDS}`);
    headers(request, response, next);
  };
}

/** Headers that a proxy leaves on what it passes on. */
const PASSED_ON = ['x-forwarded-for', 'x-forwarded-host', 'x-forwarded-proto', 'x-real-ip', 'forwarded', 'via'];

/** Whether a proxy passed this on, as far as it says so. Anybody can say so; it is taken for a reason to trust less only. */
export const isPassedOn = ({ headers }: Request): boolean => PASSED_ON.some((name) => headers[name] !== undefined);

const LOOPBACK = /^(?:::ffff:)?127\.\d+\.\d+\.\d+$|^::1$/;

/** A program on this machine that speaks to us itself. What a header says of where it comes from is not asked. */
export const isFromThisMachine = (request: Request): boolean =>
  !isPassedOn(request) && LOOPBACK.test(request.socket.remoteAddress ?? '');
