"""What a request may name can be looked up."""

import pytest

LISTS = ("challenges", "levers", "materials", "criteria", "rules", "sources", "standards", "problems")


@pytest.mark.parametrize("name", LISTS)
def test_a_list_has_items_and_next(client, name):
    page = client.get(f"/v1/{name}").json()
    assert set(page) == {"items", "next"}
    assert page["items"]
    ids = [item["id"] for item in page["items"]]
    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("name", [n for n in LISTS if n not in ("criteria", "standards")])
def test_each_entry_has_its_own_address(client, name):
    for item in client.get(f"/v1/{name}").json()["items"][:20]:
        one = client.get(f"/v1/{name}/{item['id']}").json()
        assert one["id"] == item["id"]
        if name != "challenges":
            assert one == item


def test_rules_come_a_page_at_a_time(client, rules):
    found, cursor = [], None
    while True:
        page = client.get("/v1/rules", params={"limit": 7, **({"cursor": cursor} if cursor else {})}).json()
        found += [rule["id"] for rule in page["items"]]
        cursor = page["next"]
        if cursor is None:
            break
        assert len(page["items"]) == 7
    assert found == sorted(rules.base.rules)


def test_rules_of_one_step(client, rules):
    page = client.get("/v1/rules", params={"stage": "limit", "limit": 500}).json()
    assert [r["id"] for r in page["items"]] == sorted(k for k, r in rules.base.rules.items() if r.stage == "limit")


def test_a_rule_says_what_it_does_and_what_it_stands_on(client):
    rule = client.get("/v1/rules/adjust/shelter/load/second_spot_for_a_surplus").json()
    assert rule["stage"] == "adjust"
    assert rule["verb"] == "propose" and rule["does"]["lever"] == "load_positions"
    assert rule["because"] and rule["basis"][0]["label"]
    assert rule["parameters"]["groups"]["unit"] == "groups"


def test_settings_of_a_lever_are_of_its_type(client):
    for lever in client.get("/v1/levers").json()["items"]:
        kinds = {"number": (int, float), "word": (str,), "yes_no": (bool,)}[lever["type"]]
        assert all(isinstance(s, kinds) for s in lever["settings"])


def test_health(client, rules):
    assert client.get("/healthz").json()["status"] == "ok"
    ready = client.get("/readyz").json()
    assert ready["engine"] == rules.engine
    assert ready["rule_base_digest"] == rules.base.digest
