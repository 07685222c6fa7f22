#include "daemon/notices/routes/log.hpp"

namespace setwell::notices {

SendResult LogRoute::send(const ledger::Delivery& delivery) {
  log_.info(delivery.parcel.body);
  return SendResult::sent();
}

}  // namespace setwell::notices
