"""`tubrig plan pace` as a person runs it."""


def test_a_plan_in_plain_words(tubrig):
    done = tubrig("plan", "pace", "--groups", "7", "--at", "4")
    assert done.returncode == 0, done.stderr
    assert "35 of 45 minutes are left for 7 boats." in done.stdout
    assert "put 5 on at a time (95% sure)" in done.stdout
    assert "4 near the end, by forecast" in done.stdout


def test_the_same_in_json(told):
    plan = told("plan", "pace", "--tubs", "2")
    assert plan["fixed"]["items"] < 5
    assert plan["by_forecast"]["items"] == 1
    assert plan["test_min"] == 35
    assert plan["words"]


def test_an_error_has_one_thing_to_do(tubrig):
    done = tubrig("plan", "pace", "--talk-min", "50")
    assert (done.returncode, done.stdout) == (2, "")
    assert "earlier block" in done.stderr


def test_help_has_a_worked_example(tubrig):
    assert "Example: tubrig plan pace --groups 8" in tubrig("plan", "pace", "--help").stdout
