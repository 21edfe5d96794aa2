# SPDX-License-Identifier: MIT
# A stranger's Modbus server (pymodbus) in the part of an instrument: holding and input registers from a JSON object
# {"address": word} on standard input; prints its port and serves until its input ends.
import json
import logging
import socket
import sys
import threading

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server import StartTcpServer

logging.disable(logging.CRITICAL)
words = [0] * 3000
for address, word in json.loads(sys.stdin.readline()).items():
    words[int(address)] = word
block = ModbusSequentialDataBlock(0, words)
context = ModbusServerContext(slaves=ModbusSlaveContext(hr=block, ir=block, zero_mode=True), single=True)
with socket.create_server(("127.0.0.1", 0)) as free:
    port = free.getsockname()[1]


def end_with_input():
    sys.stdin.read()
    import os
    os._exit(0)


def tell():
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=0.2).close()
            break
        except OSError:
            continue
    print(port, flush=True)


threading.Thread(target=end_with_input, daemon=True).start()
threading.Thread(target=tell, daemon=True).start()
StartTcpServer(context=context, address=("127.0.0.1", port))
