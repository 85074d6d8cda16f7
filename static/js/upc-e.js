// UPC-E is a UPC-A with zeros left out. Some phones' own readers hand over the short form.

/** The twelve digits of a UPC-A behind the eight of a UPC-E (GS1 General Specifications, UPC-E barcodes); other texts stay as they are. */
export function withZeros(text) {
  if (!/^[01]\d{7}$/.test(text)) return text;
  const [, first, digits, rule, check] = /^(.)(\d{5})(\d)(.)$/.exec(text);
  const after = (count, zeros) => digits.slice(0, count) + "0".repeat(zeros) + digits.slice(count);
  if (rule <= "2") return first + digits.slice(0, 2) + rule + "0000" + digits.slice(2) + check;
  if (rule === "3") return first + after(3, 5) + check;
  if (rule === "4") return first + after(4, 5) + check;
  return first + digits + "0000" + rule + check;
}
