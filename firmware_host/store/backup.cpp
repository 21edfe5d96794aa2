// SPDX-License-Identifier: MIT
#include "firmware_host/store/backup.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "firmware_host/record/verification.hpp"
#include "firmware_host/store/durable_file.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

bool there(std::string const& file) { return ::access(file.c_str(), F_OK) == 0; }

std::uint64_t copy_verified(std::string const& from, std::string const& to, char const* kind) {
  {
    JournalDatabase const journal(from, JournalDatabase::Access::read_only);
    journal.copy_to(to + "/journal.db");
  }
  int const descriptor = ::open((to + "/journal.db").c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0 || ::fsync(descriptor) != 0) {
    throw StoreError("journal.write", fmt::format("{} {}: cannot be kept: {}", kind, to, std::strerror(errno)));
  }
  ::close(descriptor);
  if (there(from + "/keys/journal.pub")) {
    if (::mkdir((to + "/keys").c_str(), 0700) != 0 && errno != EEXIST) {
      throw StoreError("journal.folder", fmt::format("folder {}/keys: cannot be made: {}", to, std::strerror(errno)));
    }
    write_file_durably(to + "/keys/journal.pub", documents::read_text_file(from + "/keys/journal.pub"), 0644);
  }
  DirectJournalStore const copy(to, JournalDatabase::Access::read_only);
  auto const verification = verify_journal(to, copy, copy.database(), VerificationWishes());
  if (!verification.whole()) {
    throw StoreError("journal.broken",
                     fmt::format("{} {}: what was copied does not verify: {}. `records verify` says more", kind, to,
                                 verification.chain.unbroken ? verification.wrong.front() : verification.chain.what));
  }
  return verification.chain.entries;
}

}  // namespace

std::uint64_t back_up(std::string const& records, std::string const& to) {
  if (there(to)) {
    throw StoreError("journal.folder",
                     fmt::format("backup {}: is there already. Choose a new name for every backup", to));
  }
  auto const unfinished = to + ".unfinished";
  if (there(unfinished)) {
    throw StoreError("journal.folder",
                     fmt::format("backup {}: an earlier one was cut short. Remove {} and start again", to, unfinished));
  }
  make_records_folder(unfinished);
  auto const entries = copy_verified(records, unfinished, "backup");
  if (::rename(unfinished.c_str(), to.c_str()) != 0) {
    throw StoreError("journal.write", fmt::format("backup {}: cannot be kept: {}", to, std::strerror(errno)));
  }
  auto const slash = to.rfind('/');
  fsync_folder(slash == std::string::npos ? "." : slash == 0 ? "/" : to.substr(0, slash));
  return entries;
}

std::uint64_t restore(std::string const& backup, std::string const& records) {
  if (there(records + "/journal.db")) {
    throw StoreError(
        "journal.folder",
        fmt::format("records folder {}: has a journal; restoring would replace it. Choose another folder", records));
  }
  make_records_folder(records);
  auto const entries = copy_verified(backup, records, "restored folder");
  fsync_folder(records);
  return entries;
}

}  // namespace benchward
