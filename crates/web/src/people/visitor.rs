//! Who is being answered, for the frame of the page and for what costs much.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use store::{AccountId, SignedIn};

/// Work that an account may have done at once, and how much of it comes back in a second.
const MOST: Duration = Duration::from_secs(90);
const BACK: f64 = 0.5;

/// Whoever is being answered.
#[derive(Debug)]
pub struct Visitor {
    pub who: SignedIn,
    budgets: Budgets,
}

tokio::task_local! {
    static HERE: Arc<Visitor>;
}

/// Whoever is being answered; none without accounts, and at the door.
pub fn here() -> Option<Arc<Visitor>> {
    HERE.try_with(Arc::clone).ok()
}

impl Visitor {
    pub fn new(who: SignedIn, budgets: Budgets) -> Arc<Self> {
        Arc::new(Self { who, budgets })
    }

    /// Answers a request for this one.
    pub async fn during<T>(self: Arc<Self>, answer: impl Future<Output = T>) -> T {
        HERE.scope(self, answer).await
    }

    /// How long to wait before something costly, where too much was asked for; none where
    /// it may be done now.
    pub fn must_wait(&self) -> Option<Duration> {
        self.budgets.must_wait(self.who.account, Instant::now())
    }

    /// Counts work that was done.
    pub fn spent(&self, work: Duration) {
        self.budgets.spend(self.who.account, work, Instant::now());
    }
}

/// What each account may still have reckoned. It may be lost: then everybody starts anew.
#[derive(Debug, Clone, Default)]
pub struct Budgets {
    spent: Arc<Mutex<HashMap<AccountId, (Duration, Instant)>>>,
}

impl Budgets {
    fn must_wait(&self, account: AccountId, now: Instant) -> Option<Duration> {
        let spent = self.spent.lock().unwrap_or_else(PoisonError::into_inner);
        let over = left_of(spent.get(&account), now).checked_sub(MOST)?;
        (!over.is_zero()).then(|| over.div_f64(BACK))
    }

    fn spend(&self, account: AccountId, work: Duration, now: Instant) {
        let mut spent = self.spent.lock().unwrap_or_else(PoisonError::into_inner);
        let all = left_of(spent.get(&account), now) + work;
        // Those who owe nothing any more are forgotten.
        if spent.len() > 1000 {
            spent.retain(|_, entry| !left_of(Some(entry), now).is_zero());
        }
        spent.insert(account, (all, now));
    }
}

/// What is left of what was spent, after what came back since.
fn left_of(entry: Option<&(Duration, Instant)>, now: Instant) -> Duration {
    let Some((spent, at)) = entry else {
        return Duration::ZERO;
    };
    let back = now.saturating_duration_since(*at).mul_f64(BACK);
    spent.saturating_sub(back)
}

#[cfg(test)]
mod tests {
    use super::*;
    use store::Timestamp;

    #[test]
    fn who_had_too_much_reckoned_waits_and_nobody_else() {
        let budgets = Budgets::default();
        let [a, b] = [
            AccountId::new(Timestamp::MIN),
            AccountId::new(Timestamp::MIN),
        ];
        let start = Instant::now();
        assert_eq!(budgets.must_wait(a, start), None);
        budgets.spend(a, MOST, start);
        assert_eq!(budgets.must_wait(a, start), None);
        budgets.spend(a, Duration::from_secs(10), start);
        assert_eq!(budgets.must_wait(a, start), Some(Duration::from_secs(20)));
        assert_eq!(budgets.must_wait(b, start), None);
        assert_eq!(budgets.must_wait(a, start + Duration::from_secs(20)), None);
    }
}
