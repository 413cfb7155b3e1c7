using Acquire.Acquisition.Serial;
using Xunit;

namespace Acquire.Acquisition.Tests.Serial;

public sealed class PortFinderTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-finder-").FullName;

    private string Port => Path.Combine(_folder, "port0");

    private string Named => Path.Combine(_folder, "by-id");

    private string Link => Path.Combine(Named, "usb-board");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Without_names_of_devices_the_port_stays_what_was_given()
    {
        File.WriteAllText(Port, "");
        var finder = new PortFinder(Port, Named);
        finder.Opened(Port);
        Assert.Equal(Port, finder.Next());
    }

    [Fact]
    public void A_device_that_is_back_where_it_was_keeps_the_name_that_the_user_gave()
    {
        PortFinder finder = Opened();
        Assert.Equal(Port, finder.Next());
    }

    [Fact]
    public void A_device_that_is_back_elsewhere_is_opened_by_its_own_name()
    {
        PortFinder finder = Opened();
        File.Delete(Link);
        string elsewhere = Path.Combine(_folder, "port1");
        File.WriteAllText(elsewhere, "");
        File.CreateSymbolicLink(Link, elsewhere);
        Assert.Equal(Link, finder.Next());
    }

    [Fact]
    public void Another_device_of_the_given_name_is_taken_only_after_the_first_was_waited_for()
    {
        PortFinder finder = Opened();
        File.Delete(Link);
        for (int i = 0; i < PortFinder.AttemptsForTheSame; i++)
            Assert.Equal(Link, finder.Next());
        Assert.Equal(Port, finder.Next());
    }

    private PortFinder Opened()
    {
        File.WriteAllText(Port, "");
        Directory.CreateDirectory(Named);
        File.CreateSymbolicLink(Link, Port);
        var finder = new PortFinder(Port, Named);
        finder.Opened(Port);
        return finder;
    }
}
