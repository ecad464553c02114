import { config } from 'zod';

// The page's policy allows no code made from text; asked first, so that no schema tries.
config({ jitless: true });
