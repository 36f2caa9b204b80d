/** Makers' numbers against tests/contract/gtin.json: GS1's example, python-stdnum, zxing-cpp. */
import { describe, expect, it } from "vitest";
import {
  barcodeInClear, barcodeOf, checkDigit, expandUpcE, gtin14, typedDigits, typedGtins,
} from "../src/core/gtin"; // prettier-ignore
import { vectors } from "./vectors";

const { check, upc_e, wrong } = vectors<{
  check: [data: string, digit: string][];
  upc_e: [short: string, gtin13: string][];
  wrong: string[];
}>("gtin");

describe("a GTIN", () => {
  it("has the check digit that others say", () => {
    expect(check.length).toBeGreaterThan(40);
    for (const [data, digit] of check) {
      expect(checkDigit(data)).toBe(digit);
      expect(gtin14(data + digit)).toBe((data + digit).padStart(14, "0"));
    }
    expect(() => checkDigit("12a")).toThrow(RangeError);
  });

  it("is none with a wrong digit, two swapped ones, or another length", () => {
    for (const each of wrong) expect(gtin14(each)).toBeNull();
    for (const each of ["", "0", "629104150021", "62910415002139", "629104150021x"]) {
      expect(gtin14(each)).toBeNull();
    }
  });

  it("of a UPC-E is the one that a reader makes of the symbol", () => {
    for (const [short, gtin13] of upc_e) {
      expect(expandUpcE(short)).toBe(gtin13.slice(1));
      expect(barcodeOf(short, "upc_e")?.text).toBe(`0${gtin13}`);
      expect(barcodeOf(gtin13, "upc_e")?.text).toBe(`0${gtin13}`);
      expect(typedGtins(short)).toContain(`0${gtin13}`);
      const slip = short.slice(0, 7) + String((Number(short[7]) + 1) % 10);
      expect(expandUpcE(slip)).toBeNull();
    }
    expect(expandUpcE("11654400")).toBeNull();
  });
});

describe("what is kept of a barcode", () => {
  it("has one spelling", () => {
    expect(barcodeOf("036000291452", "upc_a")).toEqual({ text: "00036000291452", symbology: "upc_a" });
    expect(barcodeOf("0036000291452", "upc_a")?.text).toBe("00036000291452");
    expect(barcodeOf(" CMW-T6-04\r\n", "code_128")?.text).toBe("CMW-T6-04");
    expect(barcodeOf("a\u001db", "code_128")?.text).toBe("a b");
  });

  it("is nothing of what cannot be right or kept", () => {
    expect(barcodeOf("036000291453", "upc_a")).toBeNull();
    expect(barcodeOf("  ", "qr")).toBeNull();
    expect(barcodeOf("x".repeat(300), "qr")).not.toBeNull();
    expect(barcodeOf("x".repeat(301), "qr")).toBeNull();
  });

  it("is shown as it is printed", () => {
    const clear = (text: string, symbology: Parameters<typeof barcodeOf>[1] | null): string =>
      barcodeInClear({ text, symbology });
    expect(clear("06291041500213", "ean_13")).toBe("6291041500213");
    expect(clear("00000096385074", "ean_8")).toBe("96385074");
    expect(clear("00036000291452", "upc_a")).toBe("036000291452");
    expect(clear("10614141000415", null)).toBe("10614141000415");
    expect(clear("00036000291452", null)).toBe("036000291452");
    expect(clear("06291041500213", null)).toBe("6291041500213");
    expect(clear("00000096385074", null)).toBe("96385074");
    expect(clear("00012345678905", "code_128")).toBe("00012345678905");
  });
});

describe("typed digits", () => {
  it("may have blanks and dashes between, and nothing else", () => {
    expect(typedDigits("6 291041\u2013500213")).toBe("6291041500213");
    expect(typedDigits("7K3QXWMW")).toBeNull();
    expect(typedDigits("1234567")).toBeNull();
  });

  it("of eight can be an EAN-8 or a UPC-E", () => {
    expect(typedGtins("96385074")).toEqual(["00000096385074"]);
    expect(typedGtins("01654400")).toContain("00016000005440");
  });
});
