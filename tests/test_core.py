"""The answer as plain data: what scripts of others rely on."""

import ridelog


def test_the_answer_as_plain_data_holds_python_s_own_numbers(tmp_path):
    """What users print or compare by type is a float, not one of numpy's."""
    log = tmp_path / "log.csv"
    rows = "".join(f"{k},{5 if k % 3 else -2},50,18\n" for k in range(120))
    log.write_text(f"time [s],battery current [A],battery voltage [V],speed [km/h]\n{rows}", encoding="utf-8")

    def numbers(node):
        for each in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            yield from numbers(each)
        if isinstance(node, (float, int)):
            yield node

    answer = ridelog.measure(ridelog.load_ride([log])).to_dict()
    assert {type(number) for number in numbers(answer)} <= {float, int, bool}
