/** The screens, as the address bar names them. */
export type Screen =
  | { readonly kind: 'section' }
  | { readonly kind: 'place'; readonly id: number }
  | { readonly kind: 'tonight' }
  | { readonly kind: 'before-after' }
  | { readonly kind: 'loft' }
  | { readonly kind: 'lining' }
  | { readonly kind: 'diary' }
  | { readonly kind: 'sensors' }
  | { readonly kind: 'settings' }
  | { readonly kind: 'connect' | 'importing' | 'calibrate' | 'placing' }
  | { readonly kind: 'notices' | 'notice-rules' | 'forecast-score' }
  | { readonly kind: 'people' }
  | { readonly kind: 'recipients' }
  | { readonly kind: 'evidence' }
  | { readonly kind: 'portfolio' }
  | { readonly kind: 'standing' }
  | { readonly kind: 'nowhere' };

/** Which screen a path names. */
export function screenAt(path: string): Screen {
  const [first = '', second, ...rest] = path.split('/').filter((part) => part !== '');
  if (rest.length > 0) return { kind: 'nowhere' };
  if (first === 'place' && second !== undefined && /^[1-9]\d*$/.test(second))
    return { kind: 'place', id: Number(second) };
  if (first === 'sensors' && second === 'import') return { kind: 'importing' };
  if (first === 'sensors' && (second === 'connect' || second === 'calibrate' || second === 'placing'))
    return { kind: second };
  if (first === 'notices' && second === 'rules') return { kind: 'notice-rules' };
  if (first === 'notices' && second === 'forecast-score') return { kind: 'forecast-score' };
  if (first === 'notices' && second === 'recipients') return { kind: 'recipients' };
  if (first === 'settings' && second === 'people') return { kind: 'people' };
  if (first === 'sensors' && second === 'stand') return { kind: 'standing' };
  if (second !== undefined) return { kind: 'nowhere' };
  if (first === '') return { kind: 'section' };
  const own = [
    'tonight',
    'before-after',
    'loft',
    'lining',
    'notices',
    'diary',
    'sensors',
    'evidence',
    'settings',
    'portfolio',
  ] as const;
  const found = own.find((kind) => kind === first);
  if (found !== undefined) return { kind: found };
  return { kind: 'nowhere' };
}
