// check.mjs MODULE: runs tests/wasm/check.c inside WebAssembly and prints what it prints natively.
// Everything the module imports is a trap: the core touches nothing outside.
import { readFileSync } from "node:fs";

const module = new WebAssembly.Module(readFileSync(process.argv[2]));
const outside = {};
for (const { module: from, name } of WebAssembly.Module.imports(module)) {
    outside[from] ??= {};
    outside[from][name] = () => {
        throw new Error(`the core called ${from}.${name}`);
    };
}
const { exports } = new WebAssembly.Instance(module, outside);
exports._initialize();
const text = (at) => {
    const bytes = new Uint8Array(exports.memory.buffer, at);
    return new TextDecoder().decode(bytes.subarray(0, bytes.indexOf(0)));
};
for (let part = 0; part < exports.check_part_count(); part++) {
    const hash = BigInt.asUintN(64, exports.check_part_hash(part));
    console.log(`${text(exports.check_part_name(part)).padEnd(12)} ${hash.toString(16).padStart(16, "0")}`);
}
