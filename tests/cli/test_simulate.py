"""`simulate`."""

from __future__ import annotations


def test_it_prints_a_table_and_writes_a_plot(run, tmp_path):
    to = tmp_path / "plot.svg"
    done = run("simulate", "--world", "as_assumed", "--classes", "2", "--weeks", "1", "--to", str(to))
    assert done.exit_code == 0, done.output
    assert "| as_assumed | as recommended | 2 |" in done.stdout
    assert "The model judges itself" in done.stdout
    assert to.read_text().startswith("<svg ")


def test_an_unknown_world_is_told_with_the_nearest(run):
    done = run("simulate", "--world", "as_asumed")
    assert done.exit_code == 2 and "did you mean 'as_assumed'" in done.stderr
