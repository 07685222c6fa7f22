#include "daemon/app/reader.hpp"

#include <exception>
#include <utility>

#include <boost/asio/post.hpp>

namespace setwell::app {

Reader::Reader(std::filesystem::path ledger) : ledger_(std::move(ledger)) {}

Reader::~Reader() {
  pool_.join();
}

quantity::Result<ledger::ReadOnlyLedger> Reader::records() const {
  if (given_up_) return quantity::refused("setwelld is stopping; ask again when it runs");
  return ledger::ReadOnlyLedger::open(ledger_, &given_up_);
}

void examine_on(Reader& reader, std::function<void(const quantity::Error&)> found) {
  boost::asio::post(reader.pool(), [&reader, found = std::move(found)] {
    try {
      const auto records = reader.records();
      if (!records) return;
      if (const auto sound = records->quick_check(); !sound) found(sound.error());
    } catch (const std::exception&) {
      // Given up, or a disk that refuses: whoever needs the records next meets that too, and says it.
    }
  });
}

}  // namespace setwell::app
