#include "daemon/service/notice_view.hpp"

#include "daemon/api/from_core.hpp"

namespace setwell::service {
namespace {

constexpr int kMostNotices = 500;
constexpr std::size_t kMostOpen = 50;

api::NoticeNow shown(const Workshop& workshop, const ledger::NoticeRow& row) {
  api::NoticeNow notice;
  notice.notice = row.id;
  notice.kind = row.kind;
  if (!row.piece.empty()) notice.piece = row.piece;
  notice.at = api::time_text(row.created, workshop.settings->workshop.time_zone);
  notice.title = row.title;
  notice.text = row.body;
  notice.seen = row.seen.has_value();
  for (const auto& delivery : workshop.ledger.outbox().deliveries(row.extra))
    notice.deliveries.push_back(
        {delivery.parcel.route.text(), ledger::word(delivery.state), delivery.attempts});
  return notice;
}

}  // namespace

std::vector<api::NoticeNow> open_notices(const Workshop& workshop) {
  std::vector<api::NoticeNow> notices;
  const auto rows = workshop.ledger.open_notices();
  for (auto row = rows.rbegin(); row != rows.rend() && notices.size() < kMostOpen; ++row)
    notices.push_back(shown(workshop, *row));
  return notices;
}

std::vector<api::NoticeNow> all_notices(const Workshop& workshop) {
  std::vector<api::NoticeNow> notices;
  for (const auto& row : workshop.ledger.notices(kMostNotices))
    notices.push_back(shown(workshop, row));
  return notices;
}

}  // namespace setwell::service
