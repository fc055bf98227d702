"""The browser's Python and CPython are asked the same and must answer the same, digit for digit."""

import json

import pytest
from playwright.sync_api import Page

from calculators import list_calculators
from calculators.answers import answer
from calculators.forms.calculator import Calculator
from tests.browser.generated_inputs import make_inputs

ASKED = 700
COMPUTED = 500
"""Of the sets asked at least so many have to compute; the rest are refusals, which are compared as well."""

_ASK_ALL = """async ([base, questions]) => {
  const files = new Worker(base + 'files.js');
  const worker = new Worker(base + 'worker.js');
  const {port1, port2} = new MessageChannel();
  const answers = [];
  await new Promise((settle, refuse) => {
    worker.onerror = event => refuse(new Error(event.message));
    worker.onmessage = ({data}) => {
      if (data.type === 'failed') refuse(new Error(data.reason));
      if (data.type === 'answer') {
        answers[data.id] = JSON.stringify(data.fault ? {fault: data.fault} : data.answer);
        if (data.id === questions.length - 1) settle();
      }
    };
    files.postMessage({base, port: port1}, [port1]);
    worker.postMessage({type: 'start', base, files: port2}, [port2]);
    questions.forEach((question, id) => worker.postMessage({type: 'ask', id, question}));
  });
  worker.terminate();
  files.terminate();
  return answers;
}"""


@pytest.mark.parametrize("calculator", list_calculators(), ids=lambda calculator: calculator.slug)
@pytest.mark.parametrize("tier", ["snapshot", "base"])
def test_both_pythons_give_the_same_digits(
    page: Page, runtime_addresses: dict[str, str], calculator: Calculator, tier: str
) -> None:
    # The base tier runs the same code; a few sets show that it, too, has all it needs.
    count = ASKED if tier == "snapshot" else 40
    questions = [
        {"calculator": calculator.slug, "fields": fields, "units": "metric", "form": "json"}
        for fields in make_inputs(calculator, count)
    ]
    page.goto(runtime_addresses[tier] + "manifest.json")
    theirs = page.evaluate(_ASK_ALL, [runtime_addresses[tier], questions])
    computed = 0
    for question, their in zip(questions, theirs, strict=True):
        ours = json.loads(answer(json.dumps(question)))
        assert json.loads(their) == ours, question["fields"]
        computed += ours["ok"]
    assert computed >= (COMPUTED if tier == "snapshot" else 10)
