#!/usr/bin/env python3
"""islebook serve through the built program: answers, the description and its validity, bad requests, limits, tokens, open connections.

Usage: service_test.py ISLEBOOK SOURCE BUILD MAPS
"""
import http.client
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import unittest
import urllib.parse

import jsonschema

ISLEBOOK, SOURCE, BUILD, MAPS = sys.argv[1:5]
VALIDATOR = "@seriousme/openapi-schema-validator@2.11.0"
TOKEN = "a-token-for-the-tests-only"


class Server:
    def __init__(self, *arguments, environment=None):
        self.process = subprocess.Popen([ISLEBOOK, "serve", "--port", "0", "--json", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                        env={**os.environ, **(environment or {})})
        line = self.process.stdout.readline()
        if not line:
            raise AssertionError(self.process.stderr.read())
        self.port = json.loads(line)["port"]

    def stop(self, number=signal.SIGTERM):
        if self.process.poll() is None:
            self.process.send_signal(number)
        try:
            return self.process.wait(timeout=20)
        finally:
            self.process.stdout.close()
            self.process.stderr.close()

    def connect(self, timeout=20):
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)

    def request(self, method, target, body=None, **headers):
        connection = self.connect()
        try:
            connection.request(method, target, body, {name.replace("_", "-"): value for name, value in headers.items()})
            response = connection.getresponse()
            return response, response.read()
        finally:
            connection.close()

    def raw(self, data, wait=10):
        """Bytes in, everything that comes back until the server closes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=wait) as stream:
            try:
                stream.sendall(data)
            except OSError:
                pass
            received = b""
            try:
                while part := stream.recv(65536):
                    received += part
            except OSError:
                pass
            return received


class Service(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp(prefix="service-")
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.shelf = os.path.join(cls.folder, "shelf.db")
        cls.vanes = os.path.join(cls.folder, "vanes.map.json")
        shutil.copy(os.path.join(MAPS, "vanes.map.json"), cls.vanes)
        cls.server = Server("--shelf", cls.shelf, os.path.join(MAPS, "compressor.map.json"), os.path.join(MAPS, "folding.map.json"), cls.vanes)
        cls.addClassCleanup(cls.server.stop)
        with open(os.path.join(SOURCE, "ui/service/openapi.json"), encoding="utf-8") as file:
            cls.document = json.load(file)

    def ok(self, method, target, body=None, **headers):
        response, data = self.server.request(method, target, body, **headers)
        self.assertEqual(200, response.status, data)
        self.assertEqual("application/json", response.headers["Content-Type"])
        return json.loads(data)

    def problem(self, status, method, target, body=None, **headers):
        response, data = self.server.request(method, target, body, **headers)
        self.assertEqual(status, response.status, data)
        self.assertEqual("application/problem+json", response.headers["Content-Type"])
        problem = json.loads(data)
        self.matches(problem, "Problem")
        self.assertEqual(status, problem["status"])
        return problem

    def matches(self, value, schema):
        """The value is what the service's own description says."""
        jsonschema.Draft202012Validator({"$ref": f"#/components/schemas/{schema}", "components": self.document["components"]}).validate(value)

    def post(self, questions, name="compressor"):
        return self.ok("POST", f"/v1/maps/{name}/ask", json.dumps(questions), Content_Type="application/json")

    def refused(self, status, questions, name="compressor"):
        body = questions if isinstance(questions, (str, bytes)) else json.dumps(questions)
        return self.problem(status, "POST", f"/v1/maps/{name}/ask", body, Content_Type="application/json")

    def test_the_description_is_served_as_it_stands(self):
        self.assertEqual(self.document, self.ok("GET", "/openapi.json"))

    def test_an_independent_validator_accepts_the_description(self):
        folder = os.path.join(BUILD, "tests", "npm")
        package = os.path.join(folder, "node_modules", "@seriousme", "openapi-schema-validator")
        if not os.path.exists(package):
            npm = shutil.which("npm")
            if npm is None:
                self.skipTest("npm is not installed, which brings the validator")
            os.makedirs(folder, exist_ok=True)
            done = subprocess.run([npm, "install", "--prefix", folder, "--no-audit", "--no-fund", "--ignore-scripts", VALIDATOR], capture_output=True, text=True, check=False)
            if done.returncode != 0:
                self.skipTest("npm cannot bring the validator: " + done.stderr[-200:])
        script = """import {Validator} from '%s/index.js';
            import {readFileSync} from 'node:fs';
            const check = async text => { const v = new Validator(); const r = await v.validate(JSON.parse(text)); return [r.valid, v.version, JSON.stringify(r.errors ?? null)]; };
            const text = readFileSync(process.argv[2], 'utf8');
            console.log(JSON.stringify([await check(text), await check(text.replace('"responses"', '"answers"')), await check(text.replace('schemas/Problem', 'schemas/Nothing'))]));""" % package
        with open(os.path.join(self.folder, "validate.mjs"), "w", encoding="utf-8") as file:
            file.write(script)
        out = subprocess.run(["node", file.name, os.path.join(SOURCE, "ui/service/openapi.json")], check=True, capture_output=True, text=True).stdout
        good, broken, dangling = json.loads(out)
        self.assertEqual([True, "3.1"], good[:2], good)
        self.assertTrue(not broken[0] or not dangling[0], "the validator notices nothing")

    def test_lists_and_facts(self):
        maps = self.ok("GET", "/v1/maps")
        for entry in maps:
            self.matches(entry, "MapEntry")
        self.assertEqual(["compressor", "folding", "vanes"], [entry["name"] for entry in maps if entry["revision"] is None])
        for name in ("compressor", "vanes"):
            facts = self.ok("GET", f"/v1/maps/{name}")
            self.matches(facts, "MapFacts")
            self.assertEqual(name, facts["name"])
        self.assertEqual("ok", self.ok("GET", "/v1/health")["status"])

    def test_answers(self):
        lines = self.ok("GET", "/v1/maps/compressor")["lines"]
        middle = 0.5 * (lines[0] + lines[-1])
        answers = self.post({"points": [{"speed": middle, "pressure_ratio": 1.2 + 0.1 * i} for i in range(30)]})
        self.assertEqual(30, len(answers))
        on_map = [answer for answer in answers if answer["inside"]]
        self.assertTrue(on_map)
        for answer in answers:
            self.matches(answer, "Answer")
            self.assertTrue(answer["inside"] or answer["reason"])
        columns = {"flow": [answer["flow"] * 3600 for answer in on_map], "pressure_ratio": [answer["pressure_ratio"] for answer in on_map]}
        for there, back in zip(on_map, self.post({"columns": columns, "units": {"flow": "kg/h"}, "surge_margin": "flow"})):
            self.assertAlmostEqual(there["speed"], back["speed"], delta=1e-6 * middle)
            self.assertEqual("flow", back["surge_margin_definition"])
        single, = self.ok("GET", "/v1/maps/compressor/ask?" + urllib.parse.urlencode({"flow": repr(on_map[0]["flow"]) + " kg/s", "pressure_ratio": on_map[0]["pressure_ratio"]}))
        self.assertAlmostEqual(middle, single["speed"], delta=1e-6 * middle)
        turbine, = self.post({"points": [{"expansion_ratio": 2, "vane_opening": sum(self.ok("GET", "/v1/maps/vanes")["lines"][:2]) / 2}]}, "vanes")
        self.matches(turbine, "Answer")
        self.assertTrue(0 < turbine["efficiency"] < 1)
        self.assertEqual([], self.post({"points": []}))

    def test_the_first_answer_names_the_doubts_about_the_map(self):
        with open(os.path.join(MAPS, "compressor.map.json"), encoding="utf-8") as file:
            doubtful = dict(json.load(file), needs_review=["the flow axis may be off"])
        path = os.path.join(self.folder, "doubtful.map.json")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(doubtful, file)
        server = Server("--shelf", os.path.join(self.folder, "none.db"), path)
        self.addCleanup(server.stop)
        facts = json.loads(server.request("GET", "/v1/maps/doubtful")[1])
        points = [{"speed": facts["lines"][1], "pressure_ratio": 1.3 + 0.1 * i} for i in range(3)]
        answers = json.loads(server.request("POST", "/v1/maps/doubtful/ask", json.dumps({"points": points}), Content_Type="application/json")[1])
        self.assertIn("the flow axis may be off", answers[0]["map_needs_review"])
        self.assertEqual(facts["needs_review"], answers[0]["map_needs_review"])
        for answer in answers:
            self.matches(answer, "Answer")
            self.assertEqual(answer is answers[0], "map_needs_review" in answer)
        self.assertNotIn("map_needs_review", self.post({"points": points})[0])

    def test_slopes_and_edges_where_asked_for(self):
        lines = self.ok("GET", "/v1/maps/compressor")["lines"]
        tries = self.post({"points": [{"speed": 0.5 * (lines[0] + lines[-1]), "pressure_ratio": 1.2 + 0.1 * i} for i in range(30)]})
        on_map = next({key: answer[key] for key in ("flow", "pressure_ratio")} for answer in tries if answer["inside"] and answer["efficiency"])
        points = [on_map, {"flow": 1e-3, "pressure_ratio": 2}, {"flow": -1, "pressure_ratio": 2}]
        opening = sum(self.ok("GET", "/v1/maps/vanes")["lines"][:2]) / 2
        for questions, name in (({"points": points, "edges": True}, "compressor"), ({"points": [{"expansion_ratio": 2, "vane_opening": opening}]}, "vanes")):
            answers = self.post({**questions, "slopes": True}, name)
            for answer in answers:
                self.matches(answer, "Answer")
            self.assertTrue(answers[0]["slopes"]["efficiency"])
        answer, off, bad = self.post({"points": points, "edges": True})
        self.assertLess(answer["edges"]["less_flow"]["change"], 0)
        self.assertIsNone(off["edges"])
        self.assertNotIn("edges", bad)
        self.assertNotIn("slopes", answer)
        single, = self.ok("GET", "/v1/maps/compressor/ask?" + urllib.parse.urlencode({**{key: repr(value) for key, value in on_map.items()}, "edges": "true"}))
        self.assertEqual(answer, single)
        self.problem(400, "GET", "/v1/maps/compressor/ask?flow=0.2&pressure_ratio=2&edges=perhaps")
        self.problem(422, "GET", "/v1/maps/vanes/ask?expansion_ratio=2&edges=true")
        self.assertEqual("edges", self.refused(422, {"points": [], "edges": True}, "vanes")["place"])

    CASE = '[engine]\ndisplacement = "5.9 L"\nspeed = ["1400 rpm", "2000 rpm"]\nboost = "0.8 bar"\n[[stage]]\ncompressor = "compressor"\n'

    def bench(self, case, query="", kind="application/toml"):
        return self.ok("POST", "/v1/bench" + query, case, Content_Type=kind)

    def test_the_bench(self):
        report = self.bench(self.CASE + 'turbine = "vanes"\n[[point]]\n[[point]]\nspeed = "1500 rpm"\nmanifold_pressure = "0.9 bar absolute"\n')
        self.matches(report, "BenchReport")
        self.assertEqual(3, len(report["points"]))
        self.assertEqual([True, True], ["turbine" in point["stages"][0] for point in report["points"] if "failure" not in point][:2])
        for query in ("?surge_margin=flow", "?surge_margin=constant-flow"):
            other = self.bench(self.CASE, query)
            self.matches(other, "BenchReport")
            self.assertNotEqual(self.bench(self.CASE)["points"], other["points"])
        changes = self.bench(self.CASE, "?what_first=altitude&point=2")
        self.matches(changes, "BenchChanges")
        self.assertEqual("2,000 rpm", changes["point"])
        self.assertIn("folding", " ".join(change["words"] for change in changes["changes"]) + " ".join(changes["left_out"]))
        response, table = self.server.request("POST", "/v1/bench?csv=true", self.CASE, Content_Type="application/toml; charset=utf-8")
        self.assertEqual((200, "text/csv; charset=utf-8; header=present", 3), (response.status, response.headers["Content-Type"], table.count(b"\r\n")))

    def test_cases_that_cannot_be_worked_out_name_their_line(self):
        def refused(case, status=422, query=""):
            return self.problem(status, "POST", "/v1/bench" + query, case, Content_Type="application/toml")
        self.assertIn("line 2", refused(self.CASE.replace('"5.9 L"', "5.9"))["place"])
        self.assertIn("line 6", refused(self.CASE.replace('"compressor"', '"nobody"'))["place"])
        self.assertIn("line 6", refused(self.CASE.replace('"compressor"', '"vanes"'))["place"])
        # No file of this machine is opened for a stranger.
        for name in (os.path.join(MAPS, "compressor.map.json"), "compressor.map.json", "../compressor", "/etc/passwd"):
            self.assertIn("no map of that name", refused(self.CASE.replace('"compressor"', json.dumps(name)))["detail"])
        for case in ("", "[engine", b"\xff\xfe", "[" * 10000, "a=" + "[" * 100000):
            refused(case)
        many = 'speed = [%s]\naltitude = [%s]\n' % (", ".join(['"1500 rpm"'] * 100), ", ".join(['"0 m"'] * 100))
        self.assertIn("2000", refused(self.CASE + "[[point]]\n" + many)["detail"])
        self.assertIn("10,000", refused(self.CASE + ("[[point]]\n" + many) * 100)["detail"])
        refused(self.CASE + "#" * (1 << 20), 413)
        for query in ("?surge_margin=mine", "?csv=perhaps", "?what_first=fame", "?flaw=1", "?csv=true&csv=true", "?csv=%zz", "?point=1", "?what_first=power&csv=true"):
            refused(self.CASE, 400, query)
        refused(self.CASE, 422, "?what_first=altitude&point=9")
        refused(self.CASE, 422, "?what_first=drive-ratio")
        self.problem(415, "POST", "/v1/bench", self.CASE, Content_Type="application/json")
        response, _ = self.server.request("GET", "/v1/bench")
        self.assertEqual((405, "POST"), (response.status, response.headers["Allow"]))

    def test_questions_are_answered_while_the_bench_is_busy(self):
        done = []
        threads = [threading.Thread(target=lambda: done.append(self.server.request("POST", "/v1/bench?what_first=altitude", self.CASE, Content_Type="application/toml")[0].status))
                   for _ in range(3)]
        for thread in threads:
            thread.start()
        busy = 0
        while any(thread.is_alive() for thread in threads):
            busy += len(done) < 3
            self.assertEqual(200, self.server.request("GET", "/v1/maps/compressor/ask?flow=0.2&pressure_ratio=2")[0].status)
        for thread in threads:
            thread.join()
        self.assertEqual([200] * 3, done)
        self.assertGreater(busy, 1)

    def test_bad_questions_are_answered_with_their_reason_and_no_number(self):
        answers = self.post({"points": [{"flow": -1, "pressure_ratio": 2}, {"flow": 0.2}, {"flow": 0.2, "pressure_ratio": 2, "speed": 90000}, {"flow": 1e300, "pressure_ratio": 2}]})
        for answer in answers[:3]:
            self.assertTrue(answer["reason"])
            self.assertTrue(all(answer[key] is None for key in ("flow", "speed", "efficiency", "surge_margin", "region")), answer)
        self.assertFalse(answers[3]["inside"])
        self.assertIsNone(answers[3]["speed"])

    def test_malformed_requests_name_the_place(self):
        for body in ("", "{", "[]", '{"points": [{"flow": NaN}]}', b"\xff\xfe", "[" * 100000, '{"points": [{"flow": 1e999}]}'):
            self.refused(400, body)
        self.assertEqual("points[1].flaw", self.refused(400, {"points": [{"flow": 1}, {"flaw": 1}]})["place"])
        self.assertEqual("units.flow", self.refused(400, {"points": [{"flow": 1, "pressure_ratio": 2}], "units": {"flow": "K"}})["place"])
        self.assertIn("surge margin", self.refused(422, {"points": [], "surge_margin": "flow"}, "vanes")["detail"])
        self.assertIn("turbine", self.refused(422, {"points": [{"pressure_ratio": 2, "flow": 1}]}, "vanes")["detail"])
        self.assertIn("more than", self.refused(400, {"columns": {"flow": [1] * 100001, "pressure_ratio": [2] * 100001}})["detail"])
        self.problem(415, "POST", "/v1/maps/compressor/ask", "{}", Content_Type="text/plain")
        for query in ("flow=0.2+parsec&pressure_ratio=2", "flow=nan&pressure_ratio=2", "flow=0.2&flow=0.3", "flaw=1", "flow=%zz", "surge_margin=mine", "reference=warm"):
            self.problem(400, "GET", "/v1/maps/compressor/ask?" + query)

    def test_addresses_that_are_not_there(self):
        for target in ("/", "/v1", "/v1/maps/nobody", "/v1/maps/compressor/sing", "/v1/maps/..%2f..%2fetc%2fpasswd", "/v1/maps/compressor.map.json"):
            self.problem(404, "GET", target)
        self.problem(400, "GET", "/v1/maps/%zz")
        self.problem(404, "POST", "/v1/maps/nobody/ask", "{}", Content_Type="application/json")
        response, _ = self.server.request("DELETE", "/v1/maps/compressor")
        self.assertEqual((405, "GET, HEAD"), (response.status, response.headers["Allow"]))
        response, _ = self.server.request("PUT", "/v1/maps/compressor/ask")
        self.assertEqual((405, "GET, HEAD, POST"), (response.status, response.headers["Allow"]))

    def test_other_host_names_are_turned_away(self):
        self.assertIn("localhost", self.problem(421, "GET", "/v1/maps", Host="pages.example")["detail"])
        self.assertEqual(200, self.server.request("GET", "/v1/maps", Host="localhost:1234")[0].status)

    def test_head_and_a_connection_kept(self):
        connection = self.server.connect()
        self.addCleanup(connection.close)
        for _ in range(20):
            connection.request("HEAD", "/openapi.json")
            response = connection.getresponse()
            self.assertEqual(b"", response.read())
            self.assertGreater(int(response.headers["Content-Length"]), 1000)
            connection.request("GET", "/v1/health")
            self.assertEqual(b"{", connection.getresponse().read()[:1])

    def test_a_request_of_a_gigabyte_is_refused_before_it_is_sent(self):
        head = b"POST /v1/maps/compressor/ask HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        before = self.memory()
        answer = self.server.raw(head + b"Content-Length: 1073741824\r\n\r\n" + b" " * 1000)
        self.assertIn(b" 413 ", answer.split(b"\r\n")[0])
        answer = self.server.raw(head + b"Expect: 100-continue\r\nContent-Length: 1073741824\r\n\r\n")
        self.assertIn(b" 413 ", answer.split(b"\r\n")[0])
        chunk = b"100000\r\n" + b" " * 0x100000 + b"\r\n"
        answer = self.server.raw(head + b"Transfer-Encoding: chunked\r\n\r\n" + chunk * 24)
        self.assertTrue(answer == b"" or b" 413 " in answer.split(b"\r\n")[0])
        if os.environ.get("ISLEBOOK_SANITIZED") != "1":
            self.assertLess(self.memory() - before, 100 << 20)
        self.assertIn(b" 431 ", self.server.raw(b"GET /v1/maps HTTP/1.1\r\nHost: localhost\r\nX: " + b"a" * 30000 + b"\r\n\r\n").split(b"\r\n")[0])

    def memory(self):
        with open(f"/proc/{self.server.process.pid}/status", encoding="ascii") as file:
            return 1024 * next(int(line.split()[1]) for line in file if line.startswith("VmRSS"))

    def test_what_is_no_http(self):
        for data in (b"\r\n\r\n\r\n", b"hello\r\n\r\n", b"GET\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", b"GET / HTTP/9.9\r\n\r\n",
                     b"POST /v1/maps HTTP/1.1\r\nContent-Length: -1\r\n\r\n", b"POST /v1/maps HTTP/1.1\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
                     b"POST /v1/maps/compressor/ask HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n"):
            answer = self.server.raw(data, wait=3)
            self.assertNotIn(b" 200 ", answer.split(b"\r\n")[0])
        self.assertEqual(200, self.server.request("GET", "/v1/health")[0].status)

    def test_five_hundred_connections_left_open_starve_nobody(self):
        idle = []
        try:
            for i in range(500):
                idle.append(socket.create_connection(("127.0.0.1", self.server.port), timeout=10))
                if i % 2:
                    idle[-1].sendall(b"POST /v1/maps/compressor/ask HTTP/1.1\r\nHost: localhost\r\n")  # and never goes on
            for _ in range(50):
                started = time.monotonic()
                self.assertEqual(200, self.server.request("GET", "/v1/maps/compressor/ask?flow=0.2&pressure_ratio=2")[0].status)
                self.assertLess(time.monotonic() - started, 5)
        finally:
            for stream in idle:
                stream.close()

    def test_many_at_once_get_the_same(self):
        expected = self.post({"points": [{"flow": 0.2, "pressure_ratio": 2}]})
        wrong = []

        def work():
            connection = self.server.connect()
            for _ in range(40):
                connection.request("POST", "/v1/maps/compressor/ask", '{"points": [{"flow": 0.2, "pressure_ratio": 2}]}', {"Content-Type": "application/json"})
                if json.loads(connection.getresponse().read()) != expected:
                    wrong.append(1)
            connection.close()
        threads = [threading.Thread(target=work) for _ in range(16)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual([], wrong)

    def test_a_map_that_changes_and_one_that_is_deleted(self):
        copy = os.path.join(self.folder, "passing.map.json")
        shutil.copy(os.path.join(MAPS, "compressor.map.json"), copy)
        server = Server("--shelf", self.shelf, copy)
        self.addCleanup(server.stop)
        self.assertEqual("compressor", json.loads(server.request("GET", "/v1/maps/passing")[1])["kind"])
        shutil.copy(os.path.join(MAPS, "vanes.map.json"), copy + ".new")
        os.replace(copy + ".new", copy)
        self.assertEqual("turbine", json.loads(server.request("GET", "/v1/maps/passing")[1])["kind"])
        os.remove(copy)
        response, data = server.request("GET", "/v1/maps/passing/ask?expansion_ratio=2")
        self.assertEqual(404, response.status, data)

    def test_names_on_the_shelf_old_revisions_and_a_shelf_that_comes_later(self):
        shelf = os.path.join(self.folder, "later.db")
        server = Server("--shelf", shelf)
        self.addCleanup(server.stop)
        self.assertEqual(404, server.request("GET", "/v1/maps/Alder%2052")[0].status)
        for name in ("compressor", "folding"):
            subprocess.run([ISLEBOOK, "shelf", "add", os.path.join(MAPS, name + ".map.json"), "--shelf", shelf, "--name", "Alder 52", "--author", "M. Tarn"], check=True,
                           capture_output=True)
            facts = json.loads(server.request("GET", "/v1/maps/Alder%2052")[1])
            self.assertEqual(64, len(facts["revision"]))
            if name == "compressor":
                first = facts
        self.assertNotEqual(first["revision"], facts["revision"])
        old = json.loads(server.request("GET", "/v1/maps/Alder%2052@" + first["revision"][:12])[1])
        self.assertEqual(first, old)
        self.assertEqual(["Alder 52"], [entry["name"] for entry in json.loads(server.request("GET", "/v1/maps")[1])])

    def test_a_token_where_others_may_reach_in(self):
        refused = subprocess.run([ISLEBOOK, "serve", "--listen", "0.0.0.0", "--port", "0"], capture_output=True, text=True, check=False, timeout=30,
                                 env={key: value for key, value in os.environ.items() if key != "ISLEBOOK_TOKEN"})
        self.assertEqual(2, refused.returncode)
        self.assertIn("token", refused.stderr)
        short = os.path.join(self.folder, "short")
        with open(short, "w", encoding="ascii") as file:
            file.write("short\n")
        self.assertEqual(2, subprocess.run([ISLEBOOK, "serve", "--token-file", short, "--port", "0"], capture_output=True, check=False, timeout=30).returncode)
        # The same rule on the loopback interface: where there is a token, it is asked for.
        with open(short, "w", encoding="ascii") as file:
            file.write(TOKEN + "\n")
        server = Server("--shelf", self.shelf, "--token-file", short, os.path.join(MAPS, "compressor.map.json"))
        self.addCleanup(server.stop)
        for headers in ({}, {"Authorization": "Bearer wrong"}, {"Authorization": "Bearer " + TOKEN + "x"}, {"Authorization": "Basic " + TOKEN}, {"Authorization": TOKEN}):
            response, data = server.request("GET", "/v1/maps", **headers)
            self.assertEqual((401, "Bearer"), (response.status, response.headers["WWW-Authenticate"]))
            self.assertNotIn(TOKEN.encode(), data)
        self.assertEqual(200, server.request("GET", "/v1/maps", Authorization="Bearer " + TOKEN)[0].status)

    def test_it_stops_when_told(self):
        for number, code in ((signal.SIGTERM, 0), (signal.SIGINT, 0)):
            server = Server("--shelf", self.shelf)
            self.assertEqual(200, server.request("GET", "/v1/health")[0].status)
            self.assertEqual(code, server.stop(number))

    def test_wrong_command_lines(self):
        for code, arguments in ((2, ["--port", "70000"]), (2, ["--listen", "localhost"]), (1, ["no.map.json"]), (2, [os.path.join(MAPS, "vanes.map.json"), self.vanes]),
                                (1, ["--token-file", "nowhere"]), (1, ["--port", str(self.server.port)])):
            done = subprocess.run([ISLEBOOK, "serve", *arguments], capture_output=True, text=True, check=False, timeout=30)
            self.assertEqual((code, 1), (done.returncode, done.stderr.count("\n")), done.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
