"use strict";
// A small page to try the schema on. It asks the service it came from and nobody else.
const byId = (id) => document.getElementById(id);

const introspection = `{ __schema { types { name kind description
  fields { name description args { name type { ...t } } type { ...t } }
  inputFields { name description type { ...t } }
  enumValues { name description } } } }
fragment t on __Type { kind name ofType { kind name ofType { kind name ofType { kind name } } } }`;

async function ask(query, variables) {
  const reply = await fetch("/graphql", {
    method: "POST",
    headers: { "Content-Type": "application/json", Authorization: "Bearer " + byId("token").value.trim() },
    body: JSON.stringify({ query, variables }),
  });
  return reply.json();
}

function typeText(t) {
  if (t.kind === "NON_NULL") return typeText(t.ofType) + "!";
  if (t.kind === "LIST") return "[" + typeText(t.ofType) + "]";
  return t.name;
}

function rowsOf(type) {
  const fields = type.fields || type.inputFields || type.enumValues || [];
  return fields.map((f) => {
    const args = (f.args || []).map((a) => a.name + ": " + typeText(a.type)).join(", ");
    return { name: f.name + (args ? "(" + args + ")" : "") + (f.type ? ": " + typeText(f.type) : ""), text: f.description || "" };
  });
}

let types = [];

function show() {
  const word = byId("find").value.toLowerCase();
  const box = byId("schema");
  box.replaceChildren();
  for (const type of types) {
    const rows = rowsOf(type).filter((r) => (type.name + " " + r.name + " " + r.text).toLowerCase().includes(word));
    if (rows.length === 0) continue;
    const heading = document.createElement("h3");
    heading.textContent = type.name;
    const list = document.createElement("dl");
    for (const row of rows) {
      const dt = document.createElement("dt");
      const dd = document.createElement("dd");
      dt.textContent = row.name;
      dd.textContent = row.text;
      list.append(dt, dd);
    }
    const note = document.createElement("p");
    note.textContent = type.description || "";
    box.append(heading, note, list);
  }
}

async function learn() {
  const reply = await ask(introspection, {});
  if (!reply.data) return;
  const order = { Query: 0, Mutation: 1 };
  types = reply.data.__schema.types.filter((t) => !t.name.startsWith("__") && t.kind !== "SCALAR");
  types.sort((a, b) => (order[a.name] ?? 2) - (order[b.name] ?? 2) || a.name.localeCompare(b.name));
  show();
}

byId("find").addEventListener("input", show);
byId("ask").addEventListener("submit", async (event) => {
  event.preventDefault();
  const answer = byId("answer");
  answer.textContent = "Asking …";
  try {
    const variables = JSON.parse(byId("variables").value || "{}");
    answer.textContent = JSON.stringify(await ask(byId("query").value, variables), null, 2);
    if (types.length === 0) await learn();
  } catch (problem) {
    answer.textContent = "This could not be asked: " + problem.message;
  }
});
