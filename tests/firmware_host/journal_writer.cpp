// SPDX-License-Identifier: MIT
// Appends to a journal as the station does and says each number once it is durable, until it is killed. For the tests
// that kill it.
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <string>

#include "firmware_host/store/journal_store.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "tests_seq/journal/journal.hpp"

using namespace benchward;

namespace {

Task<void> write_on(Journal& journal) {
  std::string const words(2000, 'w');
  for (;;) {
    for (int i = 0; i < 3; ++i) {
      OperatorAct act;
      act.attempt = "killed";
      act.person = "nobody";
      act.act = "connected";
      act.words = words;
      auto const kept = co_await journal.record_event(act, i == 2 ? Durability::durable : Durability::ordinary);
      if (!kept) co_return;
    }
    auto const line = std::to_string(journal.last_seq()) + "\n";
    if (::write(STDOUT_FILENO, line.data(), line.size()) < 0) co_return;
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  boost::asio::io_context io{1};
  WriterJournalStore store(io, argv[1]);
  WallClock clock(io, 1.0);
  Journal journal(store, clock, "writer");
  boost::asio::co_spawn(io, write_on(journal), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  return 0;
}
