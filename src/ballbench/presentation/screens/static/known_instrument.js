/** An instrument that the notebook knows, put into the fields of a form: none of its numbers is typed again. */

const FIELDS = ["instrument", "unit", "resolution", "sd", "dof", "offset", "offset_sd", "scale_sd", "zeroed", "display"];

/** The numbers of an option as fields of a form have them; a number that is 0 by itself stays empty. */
function valuesOf({ dataset }) {
  const { name, offsetSd, scaleSd, ...rest } = dataset;
  return { ...rest, instrument: name, offset_sd: offsetSd, scale_sd: Number(scaleSd) ? scaleSd : "" };
}

/**
 * Fill the fields of a part of a form from an option; those that the part does not have are left out.
 * @param {Element} part
 * @param {HTMLOptionElement} option
 */
export function fillInstrument(part, option) {
  const values = valuesOf(option);
  for (const name of FIELDS) {
    const field = part.querySelector(`[name="${name}"]`);
    if (!field || values[name] === undefined) continue;
    if (field.matches("select") && ![...field.options].some(({ value }) => value === values[name])) {
      field.append(new Option(values[name], values[name]));
    }
    field.value = values[name];
  }
}

/** The instrument of an option as the interface takes it, numbers as they are kept. @param {HTMLOptionElement} option */
export function instrumentOf(option) {
  const values = valuesOf(option);
  const numbers = ["resolution", "sd", "dof", "offset", "offset_sd", "scale_sd"].filter((name) => values[name]);
  return {
    name: values.instrument,
    quantity: values.quantity,
    unit: values.unit,
    zeroed: values.zeroed,
    display: values.display,
    ...Object.fromEntries(numbers.map((name) => [name, Number(values[name])])),
  };
}

/** Show those instruments of a list that read a quantity; the first of them is chosen where `choose` is true. */
export function offerFor(select, quantity, choose) {
  if (!select) return;
  for (const option of select.options) {
    option.hidden = option.disabled = Boolean(option.dataset.name) && option.dataset.quantity !== quantity;
  }
  const fitting = [...select.options].filter((option) => option.dataset.name && !option.disabled);
  if (select.selectedOptions[0]?.disabled) select.selectedIndex = 0;
  if (choose && fitting.length) select.selectedIndex = fitting[0].index;
}
