using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Says when the disk is full or fails, when it takes data again, and, before a run, when there is little room left. What it says goes to the
/// log and, as an event of the run under way, to the journal.</summary>
internal sealed class DiskWatch(CaptureOptions options, CaptureJournals journals, FinishingThread finishing, ILogger logger)
{
    private const long LookNs = 200_000_000;
    private const long SpaceNs = 10_000_000_000;
    private const long AgainNs = 300_000_000_000;
    private const double LongSpinS = 3 * 3600;
    private const double MeanShareOfMax = 0.25;   // a decay's mean speed against the fastest launch
    private const double BytesPerSpeedRow = 60;
    private readonly string _library = Path.GetFullPath(options.Library);
    private long _lookedNs;
    private long _spaceNs;
    private long _since;
    private long _saidNs;
    private long _lostBefore;

    /// <summary>What a pulse takes in journal and package together, bytes: 40 and 58 where each comes in a read of its own.</summary>
    public const double BytesPerPulse = 98;

    /// <summary>That there is little room, and how much is needed; or null.</summary>
    public string? Warning { get; private set; }

    /// <summary>Room that a spin of three hours takes, bytes, at a quarter of the fastest speed.</summary>
    public static double NeededBytes(CaptureOptions options) =>
        LongSpinS * ((options.Marks * options.MaxRpm / 60 * MeanShareOfMax * BytesPerPulse) + (BytesPerSpeedRow / options.GridS));

    /// <summary>Looks, now and then.</summary>
    /// <param name="now">The host's monotonic clock, ns.</param>
    /// <param name="isBusy">True while something spins.</param>
    public void Look(long now, bool isBusy)
    {
        if (_lookedNs != 0 && now - _lookedNs < LookNs)
            return;
        _lookedNs = now;
        LookForTrouble(now);
        if (!isBusy && (_spaceNs == 0 || now - _spaceNs > SpaceNs))
        {
            _spaceNs = now;
            LookForSpace();
        }
    }

    private void LookForTrouble(long now)
    {
        JournalWriter journal = journals.Current.Writer;
        string? trouble = journal.Trouble ?? finishing.Trouble;
        if (trouble is not null && _since == 0)
        {
            (_since, _saidNs, _lostBefore) = (now, now, journals.BytesLost);
            logger.LogWarning("{Trouble}", trouble);
            if (journal.Trouble is not null)
                journal.TryAppend(now, new JournalNote(trouble, 0, RunEventNames.DiskTrouble));
        }
        else if (trouble is not null && now - _saidNs > AgainNs)
        {
            _saidNs = now;
            logger.LogWarning("Still, after {Seconds} s, {Waiting} bytes waiting, {Lost} bytes lost: {Trouble}", Seconds(now), journal.WaitingBytes, Lost, trouble);
        }
        else if (trouble is null && _since != 0)
        {
            string said = string.Create(CultureInfo.InvariantCulture, $"after {Seconds(now)} s, {Lost} bytes lost");
            logger.LogWarning("The disk takes data again {Said}", said);
            journal.TryAppend(now, new JournalNote("The disk takes data again " + said, 0, RunEventNames.DiskBack));
            _since = 0;
        }
    }

    private long Lost => journals.BytesLost - _lostBefore;

    private long Seconds(long now) => (now - _since) / 1_000_000_000;

    private void LookForSpace()
    {
        double needed = NeededBytes(options);
        long free;
        try
        {
            free = new DriveInfo(_library).AvailableFreeSpace;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return; // the system does not tell
        }

        string? warning = free >= needed ? null : string.Create(
            CultureInfo.InvariantCulture,
            $"{free / 1e6:F0} MB are left for {options.Library}, and a spin of three hours may take {needed / 1e6:F0} MB: free some space.");
        if (warning is not null && Warning is null)
            logger.LogWarning("{Warning}", warning);
        Warning = warning;
    }
}
