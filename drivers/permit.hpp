// SPDX-License-Identifier: MIT
#pragma once

/// The only handle through which a source can be energised. A procedure that holds none cannot compile a call that
/// raises voltage. Only the guard makes one.

#include <atomic>
#include <cstdint>
#include <memory>
#include <utility>

namespace benchward {

class GuardPermitIssuer;  // tests_seq/guard: the only maker

/// What permit and guard share. The guard withdraws by clearing `live`; the holder gives back by setting `returned`.
struct PermitLink {
  std::atomic<bool> live{false};
  std::atomic<bool> returned{false};
};

/// Move-only. Destroying it asks the guard for the step's own stop (ramp down, or short and decay): one atomic store
/// and a wake, no I/O. It does not wait and does not open a contactor: the guard owns every stop.
class Permit {
 public:
  /// Passkey: constructible by the guard alone.
  class Key {
    friend class GuardPermitIssuer;
    Key() = default;
  };

  Permit(Key, std::shared_ptr<PermitLink> link) noexcept : link_(std::move(link)) {}
  Permit(Permit&& other) noexcept : link_(std::move(other.link_)) { other.link_.reset(); }
  Permit& operator=(Permit&& other) noexcept {
    if (this != &other) {
      give_back();
      link_ = std::move(other.link_);
      other.link_.reset();
    }
    return *this;
  }
  Permit(Permit const&) = delete;
  Permit& operator=(Permit const&) = delete;
  ~Permit() { give_back(); }

  /// Whether the guard still consents. A bus worker looks again immediately before it sends an energising command.
  bool live() const noexcept { return link_ && link_->live.load(std::memory_order_acquire); }

  /// For the bus worker, which outlives the call: the shared state without the right to give back.
  std::shared_ptr<PermitLink const> watch() const noexcept { return link_; }

 private:
  void give_back() noexcept {
    if (!link_) return;
    link_->returned.store(true, std::memory_order_release);
    link_->returned.notify_all();
    link_.reset();
  }
  std::shared_ptr<PermitLink> link_;
};

}  // namespace benchward
