/** A page of messages ends before it takes more than this in memory, but for a single larger one. */
export const PAGE_BYTES = 8 << 20;

/** What a group shows of its last message: more than 64 KiB is for nobody to look at. */
export const GROUP_PAYLOAD_BYTES = (64 << 10) + 1;
