"""Two clients that nobody here wrote, doipclient and udsoncan, talk to `idlewright serve`: discovery, sessions, security,
codes, clearing, the whole crankshaft learn, injector coding in a wrong and a right order, a tester lost in the middle.

usage: net-clients.py PROGRAM FOLDER
"""

import socket
import struct
import subprocess
import sys
import threading
import time
from pathlib import Path

import udsoncan
from doipclient import DoIPClient
from doipclient.connectors import DoIPClientUDSConnector
from udsoncan.client import Client
from udsoncan.exceptions import NegativeResponseException, TimeoutException

PROGRAM, FOLDER = str(Path(sys.argv[1]).resolve()), Path(sys.argv[2])
HOST, PORT = "127.0.0.1", 13400
WORD = 0xFFFFFFFF


def key_of(level, seed, params):
    """docs/network.md: rotate left by 7 (seed XOR 49444C45) + 57524947."""
    mixed = int.from_bytes(seed, "big") ^ 0x49444C45
    turned = ((mixed << 7) | (mixed >> 25)) & WORD
    return ((turned + 0x57524947) & WORD).to_bytes(4, "big")


class Raw(udsoncan.DidCodec):
    """Bytes as they come, of a length or to the end."""

    def __init__(self, length=None):
        self.length = length

    def encode(self, data):
        return bytes(data)

    def decode(self, data):
        return bytes(data)

    def __len__(self):
        if self.length is None:
            raise udsoncan.DidCodec.ReadAllRemainingData
        return self.length


class Thousandths(udsoncan.DidCodec):
    def encode(self, value):
        return struct.pack(">i", round(1000 * value))

    def decode(self, data):
        return struct.unpack(">i", data)[0] / 1000

    def __len__(self):
        return 4


CONFIG = dict(udsoncan.configs.default_client_config)
CONFIG.update(
    security_algo=lambda level, seed, params: key_of(level, seed, params),
    standard_version=2020,
    request_timeout=10,
    dtc_snapshot_did_size=2,
    data_identifiers={
        0x2100: Thousandths(),
        0x2301: Raw(), 0x2302: Raw(), 0x2303: Raw(), 0x2304: Raw(),
        0xF190: udsoncan.AsciiCodec(17),
        0xF186: Raw(1),
        0xF400: Raw(4), 0xF40C: Raw(2), 0xF405: Raw(1),
        0xF402: Raw(2), 0xF403: Raw(2), 0xF404: Raw(1), 0xF406: Raw(1), 0xF407: Raw(1), 0xF40B: Raw(1),
        0xF40D: Raw(1), 0xF410: Raw(2),
        0x2603: Raw(1),
    },
    input_output={0x2603: Raw(1), 0x2601: Raw(1)},
)


class Serving:
    """The program, with a scenario and hands."""

    def __init__(self, scenario, pace):
        self.out = FOLDER / scenario
        args = [PROGRAM, "serve", scenario, "--pace", str(pace), "--out", str(self.out), "--no-cache"]
        self.child = subprocess.Popen(args, stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                      stdout=subprocess.DEVNULL)
        for line in self.child.stderr:
            if "Ctrl-C" in line:
                break
        else:
            sys.exit(f"{scenario} is not served")
        threading.Thread(target=self.tell, daemon=True).start()

    def tell(self):
        for line in self.child.stderr:
            print("   serve:", line.rstrip())

    def hand(self, line):
        self.child.stdin.write(line + "\n")
        self.child.stdin.flush()
        time.sleep(0.3)

    def end(self):
        self.hand("end")
        code = self.child.wait(timeout=60)
        assert code == 0, f"it ended with {code}"
        replay = subprocess.run([PROGRAM, "replay", str(self.out / "logbook.jsonl")], capture_output=True, text=True)
        assert replay.returncode == 0, replay.stdout + replay.stderr
        print("   its logbook replays to the same state")


def tester(address, source=0x0E00):
    return DoIPClient(HOST, address, client_logical_address=source)


def client(doip):
    return Client(DoIPClientUDSConnector(doip), config=CONFIG)


def refuses(code, ask):
    """The request is refused with this code."""
    try:
        ask()
    except NegativeResponseException as e:
        assert e.response.code == code, f"refused with {e.response.code:02X}, expected {code:02X}"
        return
    raise AssertionError(f"not refused; expected {code:02X}")


def until(what, holds, seconds=240):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = holds()
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError(f"{what}: not within {seconds} s")


def step(text):
    print("==", text, flush=True)


def listening():
    sock = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    sock.bind(("", PORT))
    return sock


def discovery(announcements):
    step("discovery")
    _, told = DoIPClient.await_vehicle_announcement(timeout=10, sock=announcements)
    announcements.close()
    _, asked = DoIPClient.get_entity(HOST)
    assert asked.vin == told.vin and len(asked.vin) == 17, (asked, told)
    _, by_vin = DoIPClient.get_entity(HOST, vin=asked.vin)
    assert by_vin.logical_address == asked.logical_address
    print("   vehicle", asked.vin, "address", hex(asked.logical_address))
    return asked.logical_address


def sessions_and_codes(address):
    step("entity, sessions, security")
    doip = tester(address)
    assert doip.request_entity_status().max_concurrent_sockets == 8
    assert doip.request_diagnostic_power_mode().diagnostic_power_mode == 1
    doip.request_alive_check()
    with client(doip) as uds:
        vin = uds.read_data_by_identifier(0xF190).service_data.values[0xF190]
        assert vin.startswith("0DW"), vin
        refuses(0x7F, lambda: uds.start_routine(0x0304))
        uds.change_session(3)
        assert uds.read_data_by_identifier(0xF186).service_data.values[0xF186] == b"\x03"
        refuses(0x33, lambda: uds.start_routine(0x0304))
        refuses(0x35, lambda: (uds.request_seed(1), uds.send_key(2, b"\0\0\0\0")))
        uds.unlock_security_access(1)
        uds.tester_present()
        rpm = struct.unpack(">H", uds.read_data_by_identifier(0xF40C).service_data.values[0xF40C])[0] / 4
        own = uds.read_data_by_identifier(0x2100).service_data.values[0x2100]
        assert abs(rpm - own) < 150 and 500 < rpm < 1500, (rpm, own)
        refuses(0x83, lambda: uds.start_routine(0x0304))
        step("a second tester")
        other = tester(address, 0x0E01)
        with client(other) as second:
            refuses(0x21, lambda: second.change_session(3))
            assert second.read_data_by_identifier(0xF186).service_data.values[0xF186] == b"\x01"
        other.close()
        step("an injector is cut and given back")
        answer = uds.io_control(0x2603, control_param=3, values=[b"\0"])
        assert answer.positive
        assert uds.read_data_by_identifier(0x2603).service_data.values[0x2603] == b"\0"
        uds.io_control(0x2603, control_param=0)
        step("codes")
        codes = uds.get_dtc_by_status_mask(0xFF).service_data.dtcs
        supported = uds.get_supported_dtc().service_data.dtcs
        assert len(supported) > 40 and len(codes) <= len(supported)
        stored = uds.get_dtc_by_status_mask(0x0C).service_data.dtcs
        for dtc in stored:
            snap = uds.get_dtc_snapshot_by_dtc_number(dtc.id).service_data
            print(f"   {dtc.id >> 8:04X} status {dtc.status.get_byte_as_int():02X}, snapshots {len(snap.dtcs)}")
        uds.get_dtc_with_permanent_status()
        uds.clear_dtc()
        assert not uds.get_dtc_by_status_mask(0x0C).service_data.dtcs
    doip.close()


def injectors(serving, address):
    step("injector coding, in a wrong and a right order")
    doip = tester(address)
    with client(doip) as uds:
        code = uds.read_data_by_identifier(0x2303).service_data.values[0x2303]
        right, wrong = b"D9D-HDH-8R4", b"D9D-DHH-8R4"
        refuses(0x7F, lambda: uds.write_data_by_identifier(0x2303, right))
        uds.change_session(3)
        refuses(0x33, lambda: uds.write_data_by_identifier(0x2303, right))
        uds.unlock_security_access(1)
        refuses(0x83, lambda: uds.write_data_by_identifier(0x2303, right))
        serving.hand('key = "off"')
        until("asleep", lambda: doip.request_diagnostic_power_mode().diagnostic_power_mode == 0)
        try:
            uds.tester_present()
            raise AssertionError("answered with the key off")
        except (IOError, TimeoutException) as e:
            print("   key off:", e)
        time.sleep(3)
        serving.hand('key = "on"')
        until("awake", lambda: doip.request_diagnostic_power_mode().diagnostic_power_mode == 1)
        uds.change_session(3)
        uds.unlock_security_access(1)
        refuses(0x31, lambda: uds.write_data_by_identifier(0x2303, wrong))
        assert uds.read_data_by_identifier(0x2303).service_data.values[0x2303] == code
        uds.write_data_by_identifier(0x2303, right)
        assert uds.read_data_by_identifier(0x2303).service_data.values[0x2303] == right
        assert uds.start_routine(0x0304).service_data.routine_status_record[0] == 2
        uds.ecu_reset(1)
    doip.close()


def lost(address):
    step("a tester lost in the middle")
    doip = tester(address)
    uds = client(doip)
    uds.open()
    uds.change_session(3)
    uds.unlock_security_access(1)
    uds.io_control(0x2601, control_param=3, values=[b"\0"])
    # the cable is pulled: no more words, no goodbye
    doip._tcp_sock.close()
    doip = tester(address, 0x0E02)
    with client(doip) as second:
        until("the session is free", lambda: not refused(lambda: second.change_session(3)), 20)
        second.unlock_security_access(1)
        second.io_control(0x2603, control_param=3, values=[b"\0"])
        second.io_control(0x2603, control_param=0)
        # it says goodbye, so that the next one need not wait for its session to end
        second.change_session(1)
    doip.close()


def refused(ask):
    try:
        ask()
        return False
    except NegativeResponseException:
        return True


def wheel(serving, address):
    step("the crankshaft learn, whole")
    doip = tester(address)
    with client(doip) as uds:
        uds.clear_dtc()
        uds.change_session(3)
        uds.unlock_security_access(1)
        first = uds.start_routine(0x0314).service_data.routine_status_record
        assert first[0] == 1 and first[1] == 1, first.hex()
        refuses(0x21, lambda: uds.start_routine(0x0311))
        holds = lifts = 0
        held = None
        end = time.monotonic() + 300
        while time.monotonic() < end:
            state = uds.get_routine_result(0x0314).service_data.routine_status_record
            if state[0] != 1:
                break
            if state[1] in (1, 3) and held != "hold":
                low, high = struct.unpack(">HH", state[2:6])
                serving.hand(f"hold_rpm = {(low + high) // 2}; hold_nm = 0.0")
                held, holds = "hold", holds + 1
            elif state[1] == 2 and held != "lift":
                serving.hand("pedal_pct = 0")
                held, lifts = "lift", lifts + 1
            time.sleep(0.05)
        assert state[0] == 2, f"the learn ended with {state.hex()}"
        print(f"   learned after {holds} holds and {lifts} run-downs")
        assert holds >= 3 and lifts >= 3
    doip.close()


def main():
    announcements = listening()
    serving = Serving("rough-since-a-new-injector", 5)
    address = discovery(announcements)
    sessions_and_codes(address)
    lost(address)
    injectors(serving, address)
    serving.end()
    serving = Serving("flashes-since-the-oil-seal", 2)
    wheel(serving, address)
    serving.end()
    print("all that was tried came out")


main()
