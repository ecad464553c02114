import { speak, speakMore } from '../../web/src/words/spoken.ts';

// what speaks is loaded after its words, as in the page
await speak('en-GB');
await speakMore();
