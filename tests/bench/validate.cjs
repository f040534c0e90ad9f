// The script that somebody would write in Node: front matter by js-yaml, held against a JSON Schema that ajv has compiled.
// validate.cjs TREE JOB_SCHEMA SITE_SCHEMA
const fs = require("node:fs");
const path = require("node:path");
const Ajv = require("ajv/dist/2020").default;
const formats = require("ajv-formats").default;
const yaml = require("js-yaml");

const [tree, ...schemas] = process.argv.slice(2);
const ajv = new Ajv({ allErrors: true, strict: false });
formats(ajv);
const [job, site] = schemas.map((file) => ajv.compile(JSON.parse(fs.readFileSync(file, "utf8"))));
let read = 0;
let bad = 0;
for (const folder of fs.readdirSync(path.join(tree, "sites")).sort()) {
  for (const name of fs.readdirSync(path.join(tree, "sites", folder)).sort()) {
    if (!name.endsWith(".md")) continue;
    const front = fs.readFileSync(path.join(tree, "sites", folder, name), "utf8").slice(4).split("\n---\n", 1)[0];
    const validate = name === "site.md" ? site : job;
    read += 1;
    if (!validate(yaml.load(front, { schema: yaml.CORE_SCHEMA }))) {
      bad += 1;
      console.log(`${folder}/${name}: ${ajv.errorsText(validate.errors).slice(0, 200)}`);
    }
  }
}
console.log(`${read} read, ${bad} bad`);
