"""An exchange with `idlewright serve`, read back by a general dissector: every frame is DoIP, none is malformed.

The bytes are recorded by the client itself and written as a capture, so that no right to capture is needed. Where tshark is
missing this says so and is left out.

usage: net-dissect.py PROGRAM FOLDER
"""

import shutil
import socket
import struct
import subprocess
import sys
from pathlib import Path

PROGRAM, FOLDER = str(Path(sys.argv[1]).resolve()), Path(sys.argv[2])
PORT, CLIENT = 13400, 40000


def frame(kind, payload):
    return struct.pack(">BBHL", 2, 0xFD, kind, len(payload)) + payload


def request(data):
    return frame(0x8001, struct.pack(">HH", 0x0E00, 0x1000) + bytes.fromhex(data))


REQUESTS = [
    frame(0x0005, bytes.fromhex("0e000000000000")),
    *map(request, ["1003", "2701", "3e00", "22f190", "22f40cf405", "1902ff", "190a", "010c", "0100", "0902", "0600",
                   "03", "07", "0a", "22abcd", "84", "310303 14".replace(" ", ""), "1001"]),
    frame(0x0007, b""),
    frame(0x1234, b"\0"),
]
DATAGRAMS = [frame(0x0001, b""), frame(0x4001, b""), frame(0x4003, b"")]


def received(sock):
    """Frames until nothing comes for half a second."""
    sock.settimeout(0.5)
    data = b""
    while True:
        try:
            more = sock.recv(65536)
        except socket.timeout:
            return data
        if not more:
            return data
        data += more


def exchange():
    """(from the client, bytes, UDP) in the order in which they went."""
    went = []
    udp = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    udp.settimeout(2)
    for datagram in DATAGRAMS:
        udp.sendto(datagram, ("127.0.0.1", PORT))
        went += [(True, datagram, True), (False, udp.recv(4096), True)]
    tcp = socket.create_connection(("127.0.0.1", PORT))
    for data in REQUESTS:
        tcp.sendall(data)
        went += [(True, data, False), (False, received(tcp), False)]
    return went


def checksum(data):
    data += b"\0" * (len(data) % 2)
    total = sum(struct.unpack(f">{len(data) // 2}H", data))
    while total >> 16:
        total = (total & 0xFFFF) + (total >> 16)
    return ~total & 0xFFFF


def capture(went):
    """The exchange as a capture of raw IP packets."""
    out = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 101)
    number = {True: 1, False: 1}
    for k, (ours, data, udp) in enumerate(went):
        ports = (CLIENT, PORT) if ours else (PORT, CLIENT)
        if udp:
            body = struct.pack(">HHHH", *ports, 8 + len(data), 0) + data
        else:
            body = struct.pack(">HHIIBBHHH", *ports, number[ours], number[not ours], 0x50, 0x18, 65535, 0, 0) + data
            number[ours] += len(data)
        ends = ("127.0.0.2", "127.0.0.1") if ours else ("127.0.0.1", "127.0.0.2")
        addresses = b"".join(map(socket.inet_aton, ends))
        head = struct.pack(">BBHHHBBH", 0x45, 0, 20 + len(body), k, 0, 64, 17 if udp else 6, 0) + addresses
        head = head[:10] + struct.pack(">H", checksum(head)) + head[12:]
        packet = head + body
        out += struct.pack("<IIII", k, 0, len(packet), len(packet)) + packet
    return out


def main():
    tshark = shutil.which("tshark")
    if not tshark:
        print("tshark is not there: the dissector's check is left out (apt-get install tshark)")
        return
    args = [PROGRAM, "serve", "idles-high", "--no-cache"]
    child = subprocess.Popen(args, stdin=subprocess.PIPE, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
    for line in child.stderr:
        if "Ctrl-C" in line:
            break
    went = exchange()
    child.communicate("end\n", timeout=60)
    file = FOLDER / "exchange.pcap"
    file.write_bytes(capture(went))
    read = subprocess.run([tshark, "-r", str(file), "-T", "fields", "-E", "separator=;", "-e", "frame.number",
                           "-e", "doip.type", "-e", "uds.sid", "-e", "_ws.malformed", "-e", "_ws.expert.message"],
                          capture_output=True, text=True, check=True).stdout.splitlines()
    bad = [line for line in read if line.split(";")[3] or "alformed" in line]
    doip = [line for line in read if line.split(";")[1]]
    uds = [line for line in read if line.split(";")[2]]
    print(f"tshark: {len(read)} packets, {len(doip)} with DoIP, {len(uds)} with UDS, {len(bad)} malformed")
    assert not bad, bad
    assert len(doip) == len(read) and len(uds) >= 30, read


main()
