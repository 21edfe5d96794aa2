// SPDX-License-Identifier: MIT
#pragma once

/// One driver class a role, over a device and its profile.

#include "../roles/roles.hpp"
#include "device.hpp"

namespace benchward {

class ProfiledRatioMeter final : public RatioMeter {
 public:
  explicit ProfiledRatioMeter(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Voltage highest_applied() const override { return volts(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Sample>> measure(Permit const& permit, Request request) override;
  Task<Answer<Done>> output_off() override;

 private:
  Device device_;
};

class ProfiledResistanceMeter final : public ResistanceMeter {
 public:
  explicit ProfiledResistanceMeter(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Current highest_current() const override { return amperes(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Done>> select(std::string from, std::string to) override;
  Task<Answer<Done>> set_current(Permit const& permit, Current current) override;
  Task<Answer<Sample>> read() override;
  Task<Answer<Done>> current_off() override;

 private:
  Device device_;
};

class ProfiledPowerAnalyzer final : public PowerAnalyzer {
 public:
  explicit ProfiledPowerAnalyzer(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Task<Answer<Done>> set_up(Setup setup) override;
  Task<Answer<PowerSnapshot>> read() override;

 private:
  Device device_;
  std::optional<Setup> setup_;
};

class ProfiledAcSource final : public AcSource {
 public:
  explicit ProfiledAcSource(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override;
  Task<Answer<Done>> to_zero(Duration ramp) override;
  Task<Answer<State>> read() override;

 private:
  Device device_;
};

class ProfiledThermometerScanner final : public ThermometerScanner {
 public:
  explicit ProfiledThermometerScanner(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Task<Answer<Sample>> read() override;

 private:
  Device device_;
};

class ProfiledDielectricTester final : public DielectricTester {
 public:
  explicit ProfiledDielectricTester(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Voltage highest_level() const override { return volts(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override;
  Task<Answer<Done>> to_zero(Duration ramp) override;
  Task<Answer<State>> read() override;

 private:
  Device device_;
};

class ProfiledInsulationMeter final : public InsulationMeter {
 public:
  explicit ProfiledInsulationMeter(Device device) : device_(std::move(device)) {}
  Device& device() { return device_; }
  std::string name() const override { return device_.declaration().name; }
  Task<Answer<Identity>> identify() override { return device_.identify(); }
  std::vector<LoggedFrame> frames() const override { return device_.frames(); }
  Task<Answer<Done>> start(Permit const& permit, Voltage test_voltage) override;
  Task<Answer<Sample>> read() override;
  Task<Answer<Done>> stop_and_discharge() override;

 private:
  Device device_;
};

}  // namespace benchward
