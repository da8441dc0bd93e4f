// Several groups may have their books at one address, each below a path of its own (…/g/oak/). A browser keeps things by
// address alone, so what is kept there carries the group's name; "" where the server has one book.

const found = /\/g\/([a-z0-9-]+)(?=\/static\/)/.exec(import.meta.url);

export const GROUP = found ? ` of ${found[1]}` : "";
