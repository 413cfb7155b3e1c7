using System.Buffers.Binary;
using System.Runtime.InteropServices;
using Acquire.Acquisition.Clock;
using Xunit;

namespace Acquire.Acquisition.Tests.Clock;

public sealed partial class HostSynchronisationTests
{
    [Theory]
    [InlineData(0x0001, false, "synchronised")]   // STA_PLL
    [InlineData(0x2001, false, "synchronised")]   // STA_PLL | STA_NANO
    [InlineData(0x0040, false, "unsynchronised")] // STA_UNSYNC, linux/timex.h
    [InlineData(0x2041, true, "unsynchronised")]  // the kernel's word counts
    [InlineData(null, true, "synchronised")]
    [InlineData(null, false, "unknown")]
    public void The_kernels_word_counts_and_where_it_gives_none_the_time_services(int? status, bool serviceHasSet, string expected) =>
        Assert.Equal(expected, HostSynchronisation.Judge(status, serviceHasSet));

    // ntp_adjtime(3) is another door of the C library to the same state.
    [Fact]
    public void What_is_read_is_what_another_call_of_the_system_says()
    {
        byte[] timex = new byte[208];
        int result = ntp_adjtime(timex);
        bool unsynchronised = (BinaryPrimitives.ReadInt32LittleEndian(timex.AsSpan(40)) & 0x40) != 0;
        if (result >= 0)
            Assert.Equal(unsynchronised ? "unsynchronised" : "synchronised", HostSynchronisation.Read());
        else
            Assert.NotEqual("unsynchronised", HostSynchronisation.Read());
    }

    [LibraryImport("libc")]
    private static partial int ntp_adjtime([In, Out] byte[] timex);
}
