// What a page says, in the language that it was made in; English where no translation came along.
// A message is a literal, a whole sentence: the catalogues are made of what stands in the scripts.

const WITHIN = "\u0004"; // between a context and its message, as the catalogues have it
let spokenHere = null;

/** The page's element `words`: translations by message, decimal sign, plural forms by count. */
function spoken() {
  if (spokenHere === null) {
    const element = document.getElementById("words");
    spokenHere = element ? JSON.parse(element.textContent) : { sign: ".", words: {} };
  }
  return spokenHere;
}

/** A message with its values: `{name}`, or `{name:.2f}` for a number with two decimals. */
function say(message, values) {
  return filledIn(spoken().words[message] || message, values);
}

/** A message about `count` things; `{count}` stands for how many. */
function sayMany(one, many, count, values) {
  const forms = spoken().words[one + WITHIN + many];
  const said = forms ? forms[pluralForm(count)] : count === 1 ? one : many;
  return filledIn(said, { count, ...values });
}

/** A message that means different things in different places; the context says which. */
function sayAs(context, message, values) {
  return filledIn(spoken().words[context + WITHIN + message] || message, values);
}

/** A language's rule is handed over as the form of every count below 200; it goes on by hundreds. */
function pluralForm(count) {
  return Number(spoken().plurals[count < 200 ? count : 100 + count % 100]);
}

/** A number as text, its point as the language has it. */
const withSign = (text) => text.replace(".", spoken().sign);

function filledIn(message, values) {
  if (!values) return message;
  return message.replace(/\{(\w+)(?::\.(\d)f)?\}/g, (place, name, digits) => {
    const value = values[name];
    if (value === undefined) return place;
    if (typeof value !== "number") return value;
    return withSign(digits === undefined ? String(value) : value.toFixed(Number(digits)));
  });
}
