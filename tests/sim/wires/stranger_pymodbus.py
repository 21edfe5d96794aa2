# SPDX-License-Identifier: MIT
# A stranger's Modbus client (pymodbus): reads registers and prints them, one line, separated by blanks.
# usage: stranger_pymodbus.py tcp HOST PORT UNIT holding|input|exchange ADDRESS COUNT [WRITE_ADDRESS WORD...]
#        stranger_pymodbus.py rtu DEVICE BAUD UNIT holding|input ADDRESS COUNT
import sys

from pymodbus.client import ModbusSerialClient, ModbusTcpClient

kind, where, number, unit, table, address, count = sys.argv[1:8]
if kind == "tcp":
    client = ModbusTcpClient(where, port=int(number), timeout=3)
else:
    client = ModbusSerialClient(where, baudrate=int(number), parity="N", stopbits=1, bytesize=8, timeout=3)
if not client.connect():
    sys.exit("cannot connect")
if table == "holding":
    answer = client.read_holding_registers(int(address), int(count), slave=int(unit))
elif table == "input":
    answer = client.read_input_registers(int(address), int(count), slave=int(unit))
else:
    answer = client.readwrite_registers(read_address=int(address), read_count=int(count), write_address=int(sys.argv[8]),
                                        write_registers=[int(word) for word in sys.argv[9:]], slave=int(unit))
client.close()
if answer.isError():
    print("error", answer)
else:
    print(" ".join(str(word) for word in answer.registers))
