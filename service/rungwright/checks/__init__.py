"""Single checks of a build and values measured in the classroom, each on its own: inputs with units in, a sentence out.

The physics stands in `measure`; a module here reads its inputs, carries their ranges through and says what comes out.
To add one: write a keyword-only function whose parameters have types of `fields` and that gives a `result.Outcome`,
name its sources by their ids in `rules/sources.yaml`, and list it in `kinds`. Route, command, contract and the tests
that hold for every check follow from that.
"""
