// SPDX-License-Identifier: MIT
#pragma once

/// The desk in front of a GuardCore: wishes as coroutines on the io_context's thread, by the injected clock. Whoever
/// gives the core its turns (a thread, the virtual clock) derives from it.

#include <array>
#include <cstddef>
#include <memory>
#include <string>

#include "../../drivers/time/clock.hpp"
#include "core.hpp"
#include "desk.hpp"

namespace benchward {

/// The only maker of permits.
class GuardPermitIssuer {
  friend class CoreDesk;
  static Permit issue(std::shared_ptr<PermitLink> link) { return Permit(Permit::Key(), std::move(link)); }
};

class CoreDesk : public GuardDesk {
 public:
  /// Core and clock outlive the desk. `period`: the guard's, and how often a waiting wish looks again.
  CoreDesk(GuardCore& core, Clock& clock, Duration period);

  GuardStatus status() const override;
  Task<void> changed(Duration at_most) override;
  Task<Result_<Done, Refusal>> prepare(StepEnergy step) override;
  Task<Result_<Permit, Refusal>> close() override;
  void reached() override;
  void raising() override;
  Task<Result_<Done, Refusal>> stop(bool hold_area) override;
  Task<Result_<Done, Refusal>> acknowledge(std::string person) override;
  Task<Result_<Done, Refusal>> release_lockout(std::string supervisor, std::string reason) override;
  /// Not ended by a cancellation that comes while it runs; the calling coroutine's cancellation stays off afterwards:
  /// this is for exit paths. A coroutine that was cancelled already must itself turn its cancellation off before it
  /// awaits this (reset_cancellation_state and throw_if_cancelled(false)): the await would throw first.
  Task<void> make_safe(std::string why) override;

  GuardCore& core() { return core_; }

 private:
  Task<void> handled(std::uint64_t ticket);
  Duration longest_way_down() const;
  Refusal refusal(std::string id, std::string words) const;
  Refusal refused_by(GuardSnapshot const& seen) const;

  GuardCore& core_;
  Clock& clock_;
  Duration const period_;
  bool may_hold_area_ = false;  ///< of the declared step: not after direct current or an insulation test
  // The guard's thread may still look at the last link; a few steps' worth are kept.
  std::array<std::shared_ptr<PermitLink>, 8> links_{};
  std::size_t next_link_ = 0;
};

}  // namespace benchward
